"""`driptray reckon SUBJECT ...`: a trade calculation by hand, by the same code as the pages and the job cards."""

import functools
import json
from collections.abc import Callable, Sequence
from typing import Any, cast, get_args

import click

from builder.fleet import ReadingLimits
from builder.leak_rules import FLUIDS, Found, LeakClass
from sync.errors import TradeError
from sync.trade import (
    battery,
    brake_advice,
    brakes,
    compression,
    judge,
    leaks,
    oil,
    risk,
    rubber,
    season,
    spots,
    track_advice,
    trends,
    units,
)
from sync.trade.reckoning import Reckoning
from sync.trade.tracks import Span


def amount_in(quantity: str, unit: str) -> Callable[[str | float], float]:
    """A parameter type: a value typed with its unit ("61mm", "3 1/2 in"), handed on as a number in `unit`."""

    def converted(value: str | float) -> float:
        if not isinstance(value, str):
            return value
        try:
            amount = units.parse(value, quantity)
        except TradeError as error:
            raise click.BadParameter(str(error)) from None
        return units.convert(amount.value, amount.unit, unit, quantity)

    converted.__name__ = quantity
    return converted


def named_in(quantity: str, unit: str) -> Callable[[str], tuple[str, float]]:
    """A parameter type: NAME=VALUE or the value alone, handed on as (name or "", number in `unit`)."""
    inner = amount_in(quantity, unit)

    def named(value: str) -> tuple[str, float]:
        name, sign, rest = value.rpartition("=")
        return (name if sign else ""), inner(rest)

    named.__name__ = f"name={quantity}"
    return named


MM, KPA, DEG = amount_in("length", "mm"), amount_in("pressure", "kPa"), amount_in("angle", "deg")
CELSIUS, VOLTS = amount_in("temperature", "°C"), amount_in("voltage", "V")
PERCENT, LITRES = amount_in("percent", "%"), amount_in("volume", "L")


def by_name(values: Sequence[tuple[str, float]]) -> dict[str, float]:
    """Values by their names; the unnamed are numbered from 1. Raises TradeError for a name given twice."""
    named: dict[str, float] = {}
    for number, (name, value) in enumerate(values, 1):
        key = name or str(number)
        if key in named:
            raise TradeError(f'"{key}" is given twice: give each its own name')
        named[key] = value
    return named


@click.group()
def reckon() -> None:
    """A trade calculation by hand. Values carry their unit: 61mm, "3 1/2 in", 45psi, 20C.

    Local rules, the maker's manual and licensed practice come first.
    """


def subject(name: str) -> Callable[[Callable[..., Reckoning]], click.Command]:
    """A command whose function hands back a reckoning: shows it in lines, or whole with --json."""

    def wrap(function: Callable[..., Reckoning]) -> click.Command:
        @functools.wraps(function)
        def shown(as_json: bool, **given: Any) -> None:
            try:
                found = function(**given)
            except TradeError as error:
                raise click.ClickException(str(error)) from None
            if as_json:
                click.echo(json.dumps(found.as_json(), ensure_ascii=False, indent=2))
            else:
                click.echo("\n".join(found.lines()))

        asked = click.option("--json", "as_json", is_flag=True, help="The whole calculation as JSON.")(shown)
        return reckon.command(name)(asked)

    return wrap


@subject("convert")
@click.argument("amount")
@click.argument("to")
def convert(amount: str, to: str) -> Reckoning:
    """AMOUNT in another unit: 45psi kPa. UK and US gallons are apart: "1 gal UK" L."""
    unit = units.spelled(to)
    return units.advise(units.parse(amount, units.quantity_of(unit)), unit)


@subject("reading")
@click.argument("amount")
@click.option("--low", help="Lowest allowed, with its unit.")
@click.option("--high", help="Highest allowed, with its unit.")
@click.option("--tolerance", type=float, default=0, help="What two readings may differ, in the limits' unit.")
@click.option("--earlier", help="The reading before, where a rise by itself is a fault (an oil level).")
def reading(amount: str, low: str | None, high: str | None, tolerance: float, earlier: str | None) -> Reckoning:
    """AMOUNT against its limits, low and high."""
    unit = units.spelled((low or high or amount).strip().lstrip("+-0123456789./ "))
    quantity = units.quantity_of(unit)

    def told(text: str | None) -> float | None:
        if text is None:
            return None
        found = units.parse(text, quantity)
        return units.convert(found.value, found.unit, unit, quantity)

    limits = ReadingLimits(quantity=quantity, unit=unit, low=told(low), high=told(high), tolerance=tolerance)
    before = None if earlier is None else units.parse(earlier, quantity)
    taken = units.parse(amount, quantity)
    if not judge.plausible(taken, limits):
        raise TradeError(judge.judge(taken, limits).words)
    return judge.advise("Reading", taken, limits, before)


@subject("odd")
@click.argument("values", nargs=-1, required=True, type=named_in("temperature", "°C"))
def odd(values: tuple[tuple[str, float], ...]) -> Reckoning:
    """The odd one out among hub or drum temperatures: 41C 43C 40C 88C, or front-left=41C ..."""
    return spots.advise(by_name(values), spots.HUBS)


@subject("leak")
@click.argument("fluid", type=click.Choice(list(FLUIDS)))
@click.option("--class", "leak_class", type=click.IntRange(1, 3), required=True, help="1 wet, 2 drops hang, 3 fall.")
@click.option("--found", type=click.Choice(get_args(Found)), required=True, help="When, against running.")
@click.option("--stream", is_flag=True, help="It runs in a stream, not in drops.")
@click.option("--level", type=click.Choice(["ok", "low"]), help="Level between the marks? Left out: not looked at.")
def leak(fluid: str, leak_class: int, found: str, stream: bool, level: str | None) -> Reckoning:
    """Severity and instruction for a leak of FLUID, by the published decision table."""
    level_ok = None if level is None else level == "ok"
    seen = leaks.LeakSeen(fluid, cast(LeakClass, leak_class), cast(Found, found), stream, level_ok)
    return leaks.advise(seen)


@subject("tracks")
@click.option("--span", "lengths", multiple=True, required=True, type=MM, help="Length of a span; once for each.")
@click.option("--sag", "sags", multiple=True, required=True, type=MM, help="Its sag now, in the same order.")
@click.option("--wanted", multiple=True, required=True, type=MM, help="The sag wanted: once for all, or each.")
@click.option("--wrap", type=DEG, help="Wrap of the idler in degrees.")
@click.option("--outward", type=MM, help="Adjuster travel left outwards.")
@click.option("--inward", type=MM, help="Adjuster travel left inwards.")
@click.option("--pitch", type=MM, help="Pitch of a link.")
@click.option("--low", type=MM, help="Least sag allowed.")
@click.option("--high", type=MM, help="Most sag allowed.")
def tracks(
    lengths: tuple[float, ...], sags: tuple[float, ...], wanted: tuple[float, ...], **rest: float | None
) -> Reckoning:
    """Take-up from sags, idler movement, and links to take out or put in, for one side."""
    wished = wanted * len(lengths) if len(wanted) == 1 else wanted
    if not len(lengths) == len(sags) == len(wished):
        raise TradeError(
            f"{len(lengths)} spans, {len(sags)} sags and {len(wanted)} wanted sags: give a sag for each span, "
            "and one wanted sag or one for each"
        )
    spans = tuple(Span(*each) for each in zip(lengths, sags, wished, strict=True))
    return track_advice.advise(track_advice.TrackSide("Track", spans, **rest))


@subject("pitch")
@click.option("--length", required=True, type=MM, help="Measured over the links, taut.")
@click.option("--links", required=True, type=int, help="How many links were measured over.")
@click.option("--new", required=True, type=MM, help="Pitch when new.")
@click.option("--limit", type=MM, help="Pitch when worn out.")
def pitch(length: float, links: int, new: float, limit: float | None) -> Reckoning:
    """Pitch wear of a track."""
    return track_advice.advise_pitch(length, links, new, limit)


@subject("oil-level")
@click.option("--before", required=True, type=LITRES, help="Level before, as litres against one mark.")
@click.option("--after", required=True, type=LITRES, help="Level after.")
@click.option("--added", type=LITRES, default=0.0, help="Oil added between.")
@click.option("--sump", type=LITRES, help="Oil in the sump before.")
def oil_level(before: float, after: float, added: float, sump: float | None) -> Reckoning:
    """What a level that rose by itself says: fuel or coolant in the oil, at least so much."""
    return oil.advise_level(oil.LevelSeen(before, after, added, sump))


@subject("oil-viscosity")
@click.option("--fresh", required=True, type=float, help="Fresh oil, cSt.")
@click.option("--now", required=True, type=float, help="Oil now, cSt at the same temperature.")
@click.option("--fuel", required=True, type=float, help="Fuel, cSt at the same temperature (diesel about 3).")
def oil_viscosity(fresh: float, now: float, fuel: float) -> Reckoning:
    """Fuel in the oil from its viscosity, as a range."""
    return oil.advise_viscosity(fresh, now, fuel)


@subject("oil-pressure")
@click.argument("pressure", type=KPA)
@click.option("--low", type=KPA, help="Lowest allowed, hot.")
@click.option("--high", type=KPA, help="Highest allowed, hot.")
def oil_pressure(pressure: float, low: float | None, high: float | None) -> Reckoning:
    """Oil pressure too low or too high, with the usual causes."""
    return oil.advise_pressure(pressure, low, high)


@subject("gravity")
@click.argument("cells", nargs=-1, required=True, type=named_in("specific gravity", "SG"))
@click.option("--at", "celsius", required=True, type=CELSIUS, help="Temperature of the electrolyte.")
def gravity(cells: tuple[tuple[str, float], ...], celsius: float) -> Reckoning:
    """Battery charge and cell spread from the CELLS' gravities."""
    return battery.advise_gravity(by_name(cells), celsius)


@subject("rest-volts")
@click.argument("volts", type=VOLTS)
@click.option("--nominal", type=int, help="6, 12 or 24.")
def rest_volts(volts: float, nominal: int | None) -> Reckoning:
    """State of charge from the VOLTS of a rested battery."""
    return battery.advise_rest(volts, nominal)


@subject("cranking")
@click.argument("volts", type=VOLTS)
@click.option("--nominal", type=int, help="6, 12 or 24.")
def cranking(volts: float, nominal: int | None) -> Reckoning:
    """VOLTS while the starter turns, against the published least."""
    return battery.advise_cranking(volts, nominal)


def scoped(function: Callable[..., Reckoning]) -> Callable[..., Reckoning]:
    """Adds --first-used and --tracked to a brake subject, handed on as `scope`."""

    @functools.wraps(function)
    def with_scope(first_used: Any, tracked: bool, **given: Any) -> Reckoning:
        day = first_used.date() if first_used else None
        return function(scope=brakes.Scope(day, tracked), **given)

    day = click.DateTime(["%Y-%m-%d"])
    first = click.option("--first-used", type=day, help="Date of first use, where known.")(with_scope)
    return click.option("--tracked", is_flag=True, help="A track-laying vehicle.")(first)


@subject("build-up")
@click.argument("seconds", type=amount_in("time", "s"))
@click.option("--energy", type=click.Choice(["air", "vacuum"]), required=True, help="What the brakes store.")
@scoped
def build_up(seconds: float, energy: str, scope: brakes.Scope) -> Reckoning:
    """Time from empty until the warning goes off: 2min40s is "160 s"."""
    return brake_advice.advise_build_up(seconds, brakes.check_system(energy), scope)


@subject("leak-down")
@click.option("--drop", required=True, type=KPA, help="Pressure lost, engine off.")
@click.option("--minutes", required=True, type=float, help="Over how long.")
@click.option("--applied/--released", required=True, help="Brakes held on, or off.")
@click.option("--combination", is_flag=True, help="With a trailer coupled.")
@scoped
def leak_down(drop: float, minutes: float, applied: bool, combination: bool, scope: brakes.Scope) -> Reckoning:
    """Loss of air with the engine off."""
    return brake_advice.advise_leak_down(brake_advice.LeakDown(drop, minutes, applied, combination), scope)


@subject("reserve")
@click.argument("applications", type=int)
@scoped
def reserve(applications: int, scope: brakes.Scope) -> Reckoning:
    """Full APPLICATIONS left after the low-air warning."""
    return brake_advice.advise_reserve(applications, scope)


@subject("stop")
@click.option("--speed", required=True, type=amount_in("speed", "km/h"), help="When the pedal was pressed.")
@click.option("--distance", required=True, type=MM, help="From there to rest: 9.5m, 31ft.")
@scoped
def stop(speed: float, distance: float, scope: brakes.Scope) -> Reckoning:
    """A roll test: stopping distance from a speed."""
    return brake_advice.advise_stop(speed / 3.6, distance / 1000, scope)


@subject("parking")
@click.option("--force", type=float, help="Sum of the brake forces, in one unit with the weight.")
@click.option("--weight", type=float, help="Weight of the vehicle.")
@click.option("--gradient", type=PERCENT, help="Or the slope it held on: 16% is about 1 in 6.")
@click.option("--required", type=PERCENT, help="Efficiency it must reach.")
@scoped
def parking(
    force: float | None,
    weight: float | None,
    gradient: float | None,
    required: float | None,
    scope: brakes.Scope,
) -> Reckoning:
    """Parking-brake efficiency, from forces or from a slope it held on."""
    if gradient is not None:
        return brake_advice.advise_parking(brakes.holding_efficiency(gradient), required, scope)
    if force is None or weight is None:
        raise TradeError("neither --force with --weight nor --gradient was given: one of the two is needed")
    return brake_advice.advise_parking(brakes.parking_efficiency(force, weight), required, scope)


@subject("lining")
@click.argument("thickness", type=MM)
@click.option("--at-indicator", is_flag=True, help="Worn to its indicator or rivets.")
@click.option("--contaminated", is_flag=True, help="Oil or grease on it.")
@scoped
def lining(thickness: float, at_indicator: bool, contaminated: bool, scope: brakes.Scope) -> Reckoning:
    """Brake lining at its thinnest."""
    return brake_advice.advise_lining(thickness, at_indicator=at_indicator, contaminated=contaminated, scope=scope)


@subject("compression")
@click.argument("cylinders", nargs=-1, required=True, type=named_in("pressure", "kPa"))
def compressions(cylinders: tuple[tuple[str, float], ...]) -> Reckoning:
    """CYLINDERS by the three published spread rules: 125psi 122psi 118psi 95psi."""
    return compression.advise(by_name(cylinders))


@subject("rubber")
@click.option("--chunk", nargs=2, type=MM, default=(0.0, 0.0), help="Two sides of the largest missing chunk.")
@click.option("--missing", type=PERCENT, default=0.0, help="Share of the tread missing in small chunks.")
@click.option("--separation", type=MM, default=0.0, help="Width of the separation from the rim.")
@click.option("--round", "way_round", type=PERCENT, default=0.0, help="How far round it runs.")
def wheel_rubber(chunk: tuple[float, float], missing: float, separation: float, way_round: float) -> Reckoning:
    """Rubber of a road wheel, by the limits of one published type."""
    wheel = rubber.WheelRubber(chunk, missing, separation, way_round)
    return rubber.advise_wheel(wheel, rubber.RubberLimits())


@subject("path-rubber")
@click.argument("missing", type=PERCENT)
def path_rubber(missing: float) -> Reckoning:
    """Inner path rubber of a track link: the share MISSING."""
    return rubber.advise_path(missing, rubber.RubberLimits())


@subject("trend")
@click.argument("points", nargs=-1, required=True, metavar="X=VALUE...")
@click.option("--unit", default="", help="Unit of the values, for the words.")
@click.option("--hours", is_flag=True, help="X counts running hours, not days.")
@click.option("--low", type=float, help="Lowest allowed.")
@click.option("--high", type=float, help="Highest allowed.")
def trend(points: tuple[str, ...], unit: str, hours: bool, low: float | None, high: float | None) -> Reckoning:
    """When a reading will pass its limit, from X=VALUE points: 0=12.0 1=11.6 2=11.1 3=10.8 --low 9."""
    found = []
    for point in points:
        x, _, value = point.partition("=")
        try:
            found.append(trends.Point(float(x), float(value)))
        except ValueError:
            raise TradeError(f'"{point}" is no point: expected X=VALUE, such as 12=10.8') from None
    unit_x: Any = "running hours" if hours else "days"
    return trends.advise(trends.Series("Readings", tuple(found), unit, unit_x, low, high))


@subject("availability")
@click.option("--between", required=True, type=float, help="Mean time between maintenance.")
@click.option("--mending", required=True, type=float, help="Mean mending time.")
@click.option("--waiting", required=True, type=float, help="Mean wait for parts, people and place.")
def availability(between: float, mending: float, waiting: float) -> Reckoning:
    """Share of time a vehicle can be used, waiting counted; all three in one unit."""
    return season.advise_availability(between, mending, waiting)


@subject("failures")
@click.argument("times", nargs=-1, type=float)
@click.option("--hours", required=True, type=float, help="Running hours observed in all.")
def failures(times: tuple[float, ...], hours: float) -> Reckoning:
    """Time between failures and their trend, from the running hours at which they came."""
    return season.advise_failures(times, hours)


@subject("risk")
@click.argument("severity", type=int)
@click.argument("probability")
def risk_of(severity: int, probability: str) -> Reckoning:
    """Risk of SEVERITY 1 to 4 and PROBABILITY A to F by MIL-STD-882E."""
    return risk.advise(severity, probability)
