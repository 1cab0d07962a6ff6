"""Lead-acid batteries: gravity corrected for temperature, state of charge, cell spread, cranking volts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from sync.errors import TradeError
from sync.trade.cautions import CRANKING, ELECTROLYTE
from sync.trade.facts import missing
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, gravest, need, number

GRAVITY_SOURCE = "TM 5-1185 tables II and IV: gravity at 80 °F and available cranking power, 0.004 per 10 °F"
SPREAD_SOURCE = "TM 9-6140-200-14 paragraph 4-7: over 0.025 between two cells of a charged battery: unserviceable"
REST_SOURCE = "TM 5-3805-262-20: open-circuit volts of a 12 V battery"
CRANK_SOURCE = "NAVEDTRA 14050: at least 4.8, 9.6, 18 V while cranking 6, 12, 24 V; crank at most 30 s, rest 2 min"

#: 80 °F, at which a gravity reads true.
REFERENCE_CELSIUS = 80 / 1.8 - 32 / 1.8
#: What two cells of a charged battery may differ by.
SPREAD_MOST = 0.025
_GRAVITY = (
    (1.220, 50.0),
    (1.230, 58.3),
    (1.240, 66.6),
    (1.250, 75.0),
    (1.260, 83.3),
    (1.270, 91.6),
    (1.280, 100.0),
)
_REST_12V = ((11.7, 0.0), (12.0, 25.0), (12.2, 50.0), (12.4, 75.0), (12.6, 100.0))
_CRANK_LEAST = {6: 4.8, 12: 9.6, 24: 18.0}


class Charge(NamedTuple):
    """State of charge in percent; `bound` says where the table ends: "under" it or "over" it."""

    percent: float
    bound: str = ""

    @property
    def text(self) -> str:
        if self.bound == "under" and not self.percent:
            return "not at all"
        words = {"under": "under ", "over": "", "": "about "}[self.bound]
        return f"{words}{number(self.percent, 0)} %"


def gravity_at_80f(gravity: float, celsius: float) -> float:
    """Specific gravity as it would read at 80 °F (26.7 °C): 0.004 more for each 10 °F above, less below.

    1.250 at 20 °F reads as 1.226, 1.235 at 100 °F as 1.243. Domain: gravity 1.000 to 1.400, -40 to 70 °C.
    Source: TM 5-1185. Raises TradeError outside the domain.
    """
    need("specific gravity", gravity, "", 1.0, 1.4)
    need("electrolyte temperature", celsius, "°C", -40, 70)
    fahrenheit = celsius * 9 / 5 + 32
    return gravity + 0.004 * (fahrenheit - 80) / 10


def cranking_power(gravity: float) -> Charge:
    """Available cranking power in percent from the gravity at 80 °F, between the table's rows linearly.

    1.280 is 100 %, 1.250 75 %, 1.220 50 %; below the table only "under 50 %" can be said.
    Domain: 1.000 to 1.400. Source: TM 5-1185. Raises TradeError outside.
    """
    return _read_off(_GRAVITY, need("specific gravity", gravity, "", 1.0, 1.4))


def charge_at_rest(volts: float, nominal: int) -> Charge:
    """State of charge in percent from the volts of a rested, unloaded battery; 6 and 24 V by cell count.

    Of 12 V: 11.7 is 0 %, 12.0 25, 12.2 50, 12.4 75, 12.6 100. Domain: 0 to 13.2 V of 12 V: above that it is being
    charged or has not rested. Source: TM 5-3805-262-20; 6 and 24 V by proportion. Raises TradeError outside.
    """
    _nominal(nominal)
    of_twelve = volts * (12 / nominal)
    if of_twelve > 13.2:
        raise TradeError(
            f"{volts:g} V is no rested {nominal} V battery: it is on charge, or was within hours. "
            "Let it stand without load overnight and measure again."
        )
    return _read_off(_REST_12V, need("volts", of_twelve, "V", 0))


def cranking_least(nominal: int) -> float:
    """Least volts while cranking: 4.8, 9.6, 18 V for 6, 12, 24 V. Source: NAVEDTRA 14050."""
    return _CRANK_LEAST[_nominal(nominal)]


def cell_spread(gravities: Sequence[float]) -> float:
    """Highest minus lowest gravity of a battery's cells, all at one temperature.

    Source: TM 9-6140-200-14 paragraph 4-7. Raises TradeError for fewer than two cells or impossible gravities.
    """
    if len(gravities) < 2:
        raise TradeError(f"{len(gravities)} cell has no fellows: expected the gravity of every cell")
    cells = [need("specific gravity", gravity, "", 1.0, 1.4) for gravity in gravities]
    return max(cells) - min(cells)


def _read_off(rows: Sequence[tuple[float, float]], value: float) -> Charge:
    if value < rows[0][0]:
        return Charge(rows[0][1], "under")
    for (left, low), (right, high) in pairwise(rows):
        if value <= right:
            return Charge(low + (high - low) * (value - left) / (right - left))
    return Charge(rows[-1][1], "over")


def _nominal(volts: int) -> int:
    if volts not in _CRANK_LEAST:
        raise TradeError(f"a battery of {volts:g} V is not known here: expected 6, 12 or 24")
    return volts


def _grade(charge: Charge) -> Verdict:
    if charge.bound == "under" or charge.percent < 50:
        return "minor"
    return "advisory" if charge.percent < 75 else "sound"


_CHARGE_TODO: dict[Verdict, str] = {
    "minor": "Charge it before the next start; if it does not hold, load-test it.",
    "advisory": "Charge it; look for what draws current while it stands.",
}


def advise_gravity(cells: Mapping[str, float], celsius: float) -> Reckoning:
    """Charge and spread from the cells' gravities (cell -> reading) at one temperature in °C.

    Of one cell alone the charge is said, and that it has no fellow to compare with. Raises TradeError for
    impossible readings, naming the cell's value.
    """
    corrected = {cell: gravity_at_80f(gravity, celsius) for cell, gravity in cells.items()}
    alone = len(corrected) == 1
    spread = 0.0 if alone else cell_spread(list(corrected.values()))
    weakest = min(corrected, key=lambda cell: corrected[cell])
    charge = cranking_power(need("corrected gravity", corrected[weakest], "", 1.0, 1.4))
    uneven = spread > SPREAD_MOST + 1e-9
    verdict = gravest([_grade(charge), "minor" if uneven else "sound"])
    fellows = "no other cell was measured" if alone else "the cells agree"
    words = f"cell {weakest} is {number(spread, 3)} below the best" if uneven else fellows
    return Reckoning(
        subject="battery gravity",
        headline=f"Weakest cell {weakest}: {corrected[weakest]:.3f} at 80 °F, {charge.text} charged; {words}.",
        verdict=verdict,
        figures=(
            *(Figure(f"cell {cell} at 80 °F", value, "SG", 3) for cell, value in corrected.items()),
            Figure("charge of the weakest", charge.text),
            *(() if alone else (Figure("highest minus lowest", spread, "SG", 3),)),
        ),
        inputs=(
            *(Figure(f"cell {cell}", value, "SG", 3) for cell, value in cells.items()),
            Figure("electrolyte", celsius, "°C"),
        ),
        formula="gravity + 0.004 x (temperature in °F - 80) / 10; charge from the table, linear between its rows",
        source=f"{GRAVITY_SOURCE}; {SPREAD_SOURCE}; severity: {NO_SOURCE}",
        assumptions=("Not topped up since it was last charged; the spread rule is for a charged battery.",),
        cautions=(ELECTROLYTE,),
        todo=_gravity_todo(charge, uneven),
    )


def _gravity_todo(charge: Charge, uneven: bool) -> tuple[str, ...]:
    lines = [_CHARGE_TODO[grade]] if (grade := _grade(charge)) in _CHARGE_TODO else []
    if uneven:
        lines.append("Charge it fully and measure again: over 0.025 between cells then, it is unserviceable.")
    return tuple(lines)


def advise_rest(volts: float, nominal: int | None) -> Reckoning:
    """Charge from the volts at rest; `nominal` 6, 12, 24 or None. Raises TradeError as `charge_at_rest`."""
    if nominal is None:
        return _REST.reckoning(volts, None, "its nominal voltage is not known", "not judged")
    charge = charge_at_rest(volts, nominal)
    return _REST.reckoning(volts, nominal, f"{charge.text} charged", _grade(charge))


def advise_cranking(volts: float, nominal: int | None) -> Reckoning:
    """Volts while cranking against the published least; `nominal` as above.

    Raises TradeError for a voltage that a battery of that kind cannot have.
    """
    if nominal is None:
        return _CRANKING.reckoning(volts, None, "its nominal voltage is not known", "not judged")
    least = cranking_least(nominal)
    need("volts while cranking", volts, "V", 0, 1.1 * nominal)
    if volts >= least:
        return _CRANKING.reckoning(volts, nominal, f"at least {number(least)} V held", "sound")
    return _CRANKING.reckoning(volts, nominal, f"under the least of {number(least)} V", "minor")


@dataclass(frozen=True, slots=True)
class _VoltTest:
    """What the two volt tests share: how they are measured, where from, and what each verdict asks for."""

    subject: str
    when: str
    formula: str
    source: str
    assumption: str
    cautions: tuple[str, ...]
    todo: dict[Verdict, tuple[str, ...]]

    def reckoning(self, volts: float, nominal: int | None, words: str, verdict: Verdict) -> Reckoning:
        known = (Figure("nominal", float(nominal), "V", 0),) if nominal is not None else ()
        return Reckoning(
            subject=self.subject,
            headline=f"{number(volts, 2)} V {self.when}: {words}.",
            verdict=verdict,
            inputs=(Figure("volts", volts, "V", 2), *known),
            formula=self.formula,
            source=f"{self.source}; severity: {NO_SOURCE}",
            assumptions=(self.assumption,),
            cautions=self.cautions,
            todo=self.todo.get(verdict, ()),
            missing=(missing("battery_volts"),) if nominal is None else (),
        )


_REST = _VoltTest(
    subject="battery at rest",
    when="at rest",
    formula="charge from the table, linear between its rows",
    source=REST_SOURCE,
    assumption="Unloaded and uncharged overnight; 6 and 24 V by proportion to the 12 V table.",
    cautions=(ELECTROLYTE,),
    todo={grade: (line,) for grade, line in _CHARGE_TODO.items()},
)
_PAUSE = "Crank at most 30 s, then let the starter cool 2 min."
_CRANKING = _VoltTest(
    subject="cranking",
    when="while cranking",
    formula="volts while cranking against the least",
    source=CRANK_SOURCE,
    assumption="Measured at the battery posts, everything else off.",
    cautions=(ELECTROLYTE, CRANKING),
    todo={
        "sound": (_PAUSE,),
        "minor": (
            "Measure at the battery and at the starter: battery, posts and straps, earth, starter, in this order.",
            _PAUSE,
        ),
    },
)
