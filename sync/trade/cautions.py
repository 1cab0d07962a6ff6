"""What to say before the hands go in, by kind of work; shown beside numbers, on job cards and at checks."""

DUST = "Old brake and clutch linings may hold asbestos: never blow out a drum or clutch housing (HSE)."
HOT_HUBS = "Hubs and drums burn: hold the back of the hand near before touching, or use the thermometer."
GREASE = (
    "Track grease stands under pressure: open the bleed slowly, keep face and hands out of its line, "
    "never take out the fitting."
)
HEAVY = "Adjusters, packs, wheels and track are heavy: proper lifting gear, checked (LOLER), nobody under it."
TRACK = "Chock both sides, engine off, battery off, before anybody puts a hand between track and wheel."
ELECTROLYTE = "Electrolyte burns: goggles and gloves, water at hand; no flame or spark; negative off first, on last."
RADIUM = "Luminous dials may be radium: do not open or scrape them (IRR 2017)."
HOT_COOLANT = "Hot coolant stands under pressure: let it cool before the cap is touched."
SPRINGS = "Spring brakes and torsion bars store energy: cage or unload them before anything is undone."
NO_FUEL_LEAK = "No running with a fuel leak of any kind; no flame or spark near one."
HULL = "A hull's inside is a confined space: air it first, one person stays outside."
GUIDES = "Two people guide a reversing vehicle; a roll test needs a clear, level, private run and a look-out."
CRANKING = "Out of gear, chocked, nobody at belts or fan while it is cranked; exhaust out of the shed."

#: A check's `system` -> what to show at it.
BY_SYSTEM: dict[str, tuple[str, ...]] = {
    "brakes": (DUST, HOT_HUBS, SPRINGS),
    "steering": (DUST, HOT_HUBS),
    "clutch": (DUST,),
    "tracks": (TRACK, GREASE, HEAVY),
    "suspension": (SPRINGS, HEAVY),
    "wheels": (HOT_HUBS, HEAVY),
    "fuel": (NO_FUEL_LEAK,),
    "engine": (CRANKING, HOT_COOLANT),
    "cooling": (HOT_COOLANT,),
    "electrical": (ELECTROLYTE,),
    "instruments": (RADIUM,),
    "hull": (HULL,),
    "lifting": (HEAVY,),
}


def cautions_for(system: str | None) -> tuple[str, ...]:
    """The cautions of a check's system; empty for a system without any."""
    return BY_SYSTEM.get((system or "").lower(), ())
