"""A leak's severity and instruction by the published decision table, and the floor no helper can go below."""

from collections.abc import Iterable
from dataclasses import dataclass

from builder.leak_rules import (
    CLASSES,
    FLUIDS,
    FOUND_ON,
    NEVER,
    RULES,
    Found,
    Group,
    LeakClass,
    LeakRule,
    Level,
    fluid_name,
)
from sync.errors import TradeError
from sync.trade.cautions import BY_SYSTEM, ELECTROLYTE, HOT_COOLANT, NO_FUEL_LEAK
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning

_CAUTIONS: dict[str, tuple[str, ...]] = {
    "fuel": (NO_FUEL_LEAK,),
    "brake fluid": BY_SYSTEM["brakes"],
    "brake air": BY_SYSTEM["brakes"],
    "other": (),
}

_OF_FLUID: dict[str, tuple[str, ...]] = {
    "coolant": (HOT_COOLANT,),
    "water": (HOT_COOLANT,),
    "electrolyte": (ELECTROLYTE,),
}


@dataclass(frozen=True, slots=True)
class LeakSeen:
    """A leak as a finding has it. `level_ok` None: the level was not looked at, which counts as low.

    `fluid` is a check's `leak`; `found` comes from the round (`found_on`), or "during" from a driver.
    """

    fluid: str
    leak_class: LeakClass
    found: Found
    stream: bool = False
    level_ok: bool | None = None

    @property
    def level(self) -> Level:
        if self.level_ok is None:
            return "not looked at"
        return "in range" if self.level_ok else "low"


def found_on(round_name: str) -> Found:
    """When a leak found on a round was found: before running, or after it. An unknown round counts as after."""
    return {str(name): found for name, found in FOUND_ON.items()}.get(round_name, "after")


def group_of(fluid: str) -> Group:
    """The group a fluid is judged in. Raises TradeError for a fluid the table does not know."""
    try:
        return FLUIDS[fluid_name(fluid)]
    except KeyError:
        raise TradeError(f'"{fluid}" is no fluid of the leak table: one of {", ".join(FLUIDS)}') from None


def decide(seen: LeakSeen) -> LeakRule:
    """The first rule of the table that matches. A stream is class 3 whatever class was marked.

    Source: TM 10-3930-671-10 section 3-3, TM 5-3805-290-23-2, UK MOT inspection manual section 1; each rule names
    its own. Raises TradeError for a fluid the table does not know.
    """
    group = group_of(seen.fluid)
    leak_class = 3 if seen.stream else seen.leak_class
    flow = "stream" if seen.stream else "drops"
    asked: tuple[object, ...] = (group, leak_class, seen.found, flow, seen.level)
    return next(rule for rule in RULES if _matches(rule, asked))


def _matches(rule: LeakRule, asked: Iterable[object]) -> bool:
    wanted = (rule.groups, rule.classes, rule.found, rule.flows, rule.levels)
    return all(not any_of or value in any_of for any_of, value in zip(wanted, asked, strict=True))


def advise(seen: LeakSeen) -> Reckoning:
    """The decision as a reckoning: what it is, what it bars, and what to do."""
    rule = decide(seen)
    leak_class: LeakClass = 3 if seen.stream else seen.leak_class
    never = [n.words for n in NEVER if group_of(seen.fluid) in n.groups]
    assumptions = ["A level that was not looked at counts as low."] if seen.level_ok is None else []
    assumptions += [f"Published rule, not to be talked down: {words}." for words in never]
    if seen.stream and seen.leak_class != 3:
        assumptions.append(f"Marked as class {seen.leak_class}, but it runs in a stream: judged as class 3.")
    return Reckoning(
        subject="leak",
        headline=f"{seen.fluid.capitalize()} leak, class {leak_class} ({_how(leak_class, seen.stream)}): "
        f"{rule.severity}.",
        verdict=rule.severity,
        figures=(Figure("barred", ", ".join(rule.bars) or "nothing"), Figure("rule", rule.id)),
        inputs=(
            Figure("fluid", seen.fluid),
            Figure("class", str(seen.leak_class)),
            Figure("found", f"{seen.found} running"),
            Figure("flow", "stream" if seen.stream else "no stream"),
            Figure("level", seen.level),
        ),
        formula="decision table by fluid, class, when it was found, stream and level; the first row that matches",
        source=rule.source,
        assumptions=tuple(assumptions),
        cautions=_cautions(seen.fluid),
        todo=(rule.instruction,),
    )


def _how(leak_class: LeakClass, stream: bool) -> str:
    return "a stream" if stream else CLASSES[leak_class - 1]


def _cautions(fluid: str) -> tuple[str, ...]:
    name = fluid_name(fluid)
    slippery = f"Spilt fluid is slippery: spread something on it ({NO_SOURCE})."
    return (*_CAUTIONS[group_of(name)], *_OF_FLUID.get(name, ()), slippery)
