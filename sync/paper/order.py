"""What the plan says on a job card: when and in which order, over which steps, with which parts. Pure."""

from sync.paper.models import CardOrder, CardPart, CardStep
from sync.plan.on_paper import CardLines, NeedLine, OnPaper, StepLine
from sync.plan.words import day_words


def order_of(paper: OnPaper, lines: CardLines | None) -> CardOrder:
    """The card's place in the plan, or the line that says why it has none."""
    if lines is None:
        return CardOrder(when="Not in the plan: nothing of it is to be done here now.")
    return CardOrder(
        when=_when(paper, lines),
        why="" if lines.why == paper.why_not else _sentence(lines.why),
        after=lines.after,
        before=lines.before,
        together=lines.together,
    )


def _when(paper: OnPaper, lines: CardLines) -> str:
    if lines.first_day is None or lines.last_day is None:
        return paper.why_not or "No day can be planned for it yet."
    days = dict.fromkeys((day_words(lines.first_day), day_words(lines.last_day)))
    place = f", number {lines.place} of {lines.places}" if lines.place else ""
    return f"Planned for {' to '.join(days)}{place}."


def _sentence(words: str) -> str:
    """A capital first and a full stop."""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}" if words else ""


def steps_of(lines: CardLines) -> tuple[CardStep, ...]:
    return tuple(map(_step, lines.outs))


def _step(step: StepLine) -> CardStep:
    return CardStep(
        name=step.name,
        hours_out=step.hours_out,
        hours_back=step.hours_back,
        people=step.people,
        uses=step.uses,
        held_by=step.held_by,
        open=step.open,
    )


def parts_of(lines: CardLines) -> tuple[CardPart, ...]:
    return tuple(map(_part, lines.needs))


def _part(need: NeedLine) -> CardPart:
    due = f"due {day_words(need.due)}" if need.due else ""
    taken = f"taken from {need.taken_from}" if need.taken_from else ""
    where = ", ".join(one for one in (need.where, due, taken) if one)
    return CardPart(name=need.name, state="" if need.state == "needed" else need.state, where=where)
