"""The display day of 17 October 2026 and the morning after, as three people walked it. All invented.

Maud and Odile look at some of what Tobin looks at, and they do not always agree. Odile's phone is three days behind.
"""

from tests.app.day.words import Bad, Else, Good, Known, Phone, Report, Run, Skip, TopUp, Walk

A_FORTNIGHT_BEFORE = (
    Walk("2026-10-03T09:10", "kettle", "cold", {
        "left-track/adjuster": Bad("end-of-travel", "Nearly out. One link has to come out this winter.", "11"),
        "crew/bilge": Bad("water", "Two litres of rain under the driver's plates."),
    }, left_why="No time"),
    Walk("2026-10-03T09:40", "anvil", "cold", {
        "battery/gravity#7": Bad("low-one", "Cell 7 again, the others fine.", "1.19"),
    }, left_why="No time"),
    Walk("2026-10-03T10:05", "hobnail", "cold", {
        "nose/puddles": Bad("oil-spots", "Three spots the size of a penny under the belly plate."),
        "start/cold-start": Bad("white-smoke", "White for a minute, then clear."),
    }, left_why="No time"),
    Walk("2026-10-03T10:30", "treacle", "cold", {
        "right-track/adjuster": Bad("spring", "Coil bound, no give left.", "31"),
        "engine/oil-state": Bad("black", "Due anyway."),
    }, left_why="No time"),
)  # fmt: skip

MAUD = (
    Walk("2026-10-17T08:10", "kettle", "before", {
        "deck/fasteners": Bad("bolts-short", "Four of eighteen gone along the rear edge."),
    }),
    Walk("2026-10-17T08:35", "anvil", "before", {
        "left-side/stowage": Bad("strap", "Buckle gone; lashed with rope for today.", put_right=True),
        "crew/hatches": Bad("seized", "Driver's hatch lifts with a bar only."),
    }),
    Walk("2026-10-17T09:05", "hobnail", "before", {
        "turret/travel-lock": Bad("seized", "Will not turn past half."),
        "underneath/hanging": Bad("bracket", "Exhaust bracket cracked through, pipe still up.", photo="bracket"),
        "nose/lamps": Bad("one-out", "Left side lamp."),
    }),
    Run("2026-10-17T11:30", "kettle", "1.2", "6", "TA"),
    Walk("2026-10-17T11:38", "kettle", "hot", {
        "left-track/wheel-heat#2": Bad("hot", "Its neighbours at 48. Smells of grease.", "96", photo="hub"),
        "cooling/weep-hot": Bad("hose-end", "Top hose at the thermostat.", leak=(2, "ok")),
        "drive/clutch-smell": Bad("steer-slips", "Left one, when she came round the cones."),
        "right-track/idler-heat": Bad("roller-stopped", "Cold and polished flat.", "19"),
        "drive/drum-heat#left": Skip("Too hot"),
    }),
    Report("2026-10-17T11:52", "kettle", "driver",
           "Pulls to the left when slowing, both levers level. Worse towards the end.",
           "Second gear, warm, 40 psi, 85 degrees."),
    TopUp("2026-10-17T12:02", "kettle", "engine oil", "1.0", "8 mm", "19 mm"),
    Run("2026-10-17T12:10", "anvil", "0.8", "3", "NH"),
    Walk("2026-10-17T12:18", "anvil", "hot", {
        "right-track/final-drive-heat": Bad("hot", "Left side 71 at the same spot.", "112"),
        "crew/charging": Good("27.6"),
    }),
    Walk("2026-10-17T13:25", "hobnail", "hot", {
        "drive/diff-heat#left": Good("88"),
        "left-track/wheel-heat#4": Bad("cold", "Not touching the track, arm bent?", "17"),
    }),
    Walk("2026-10-18T08:32", "kettle", "cold", {
        "left-track/adjuster": Known("Worse", "At its stop now, nothing left to take up.", "4"),
        "crew/bilge": Known("Still there"),
        "left-track/sag": Bad("slack", "Measured again after coasting to rest: slack.", "61", photo="sag", slip=True),
        "engine/oil-level": Bad("low", "Just off the lower mark."),
        "tail/puddles": Bad("oil-spots", "Under the left steering clutch."),
    }),
    Walk("2026-10-18T09:15", "anvil", "cold", {
        "battery/gravity#7": Known("Still there"),
        "left-track/sag": Bad("slack-at-stop", "Adjuster right out, still too slack.", "58"),
        "engine/oil-state": Bad("fuel", "Thin, smells of diesel, level up since Saturday morning."),
        "drive/box-level": Bad("low", "Half a litre."),
        "fuel/tank": Good(slip=True),
    }),
    Walk("2026-10-18T09:58", "hobnail", "cold", {
        "nose/puddles": Known("Worse", "A pool now, half a hand across.", severity="major"),
        "start/cold-start": Known("Gone"),
        "engine/fuel-leak": Bad("filter-head", "Wet below the second one, a drop.", leak=(2, "ok"), photo="union"),
        "right-track/adjuster": Bad("lock-missing", "Lock plate gone."),
    }),
    Walk("2026-10-18T10:46", "poker", "cold", {
        "stands/openings": Bad("rag", "Inlet side."),
        "stands/barring": Bad("tight", "Tight once a turn, at about four o'clock."),
    }),
)  # fmt: skip

TOBIN = (
    Walk("2026-10-17T08:15", "nutmeg", "before"),
    Walk("2026-10-17T08:40", "clog", "before", {
        "left-wheels/nuts#2": Bad("loose", "Three nuts took a quarter turn. Torqued all round.", put_right=True),
        "tail/lamps": Bad("one-out", "Convoy lamp."),
    }),
    Walk("2026-10-17T09:10", "trowel", "before", {
        "crew/air-warning": Bad("late", "Buzzer came in well below its mark.", "2.7"),
    }),
    Walk("2026-10-17T11:46", "kettle", "hot", {
        "left-track/wheel-heat#2": Bad("hot", "Grease runs out of the cap. Not to be driven home.", "98", "dangerous"),
        "cooling/weep-hot": Bad("hose-end", "Drops hang at the clip.", leak=(2, "ok")),
    }),
    Report("2026-10-17T12:00", "trowel", "driver",
           "Brakes slow to come off after a long stop.", "Air at 6 bar, last two laps."),
    Walk("2026-10-17T12:10", "hobnail", "hot", {
        "tail/fresh-drips": Bad("oil-drops", "A drop every few seconds behind the sprocket, right side."),
    }, left_why="No time"),
    Run("2026-10-17T12:30", "nutmeg", "1.5", "10", "TA"),
    Walk("2026-10-17T12:40", "nutmeg", "hot"),
    Walk("2026-10-17T13:05", "clog", "hot", {
        "right-wheels/drum-heat#3": Bad("idle", "Stone cold, the other five at 90 and more.", "24"),
        "underneath/air-audible": Bad("pipe", "Hiss at the rear junction, stops when I press it."),
    }),
    Walk("2026-10-17T13:40", "trowel", "hot", {
        "crew/air-at-stop": Bad("low", "", "5.1"),
    }),
    Walk("2026-10-17T14:12", "ladle", "hot", {
        "left-wheels/hub-heat#1": Bad("hot", "Right one 49.", "84"),
    }),
    Report("2026-10-17T15:05", "lantern", "visitor",
           "Seen at the other collection on Friday: one half of the bonnet tied down with string."),
    Walk("2026-10-18T08:35", "kettle", "cold", {
        "left-track/adjuster": Known("Still there"),
        "crew/bilge": Known("Still there"),
        "left-track/sag": Bad("slack", "Straight edge across the rollers.", "48"),
        "crew/lever-travel#left": Bad("long", "Bites at the very end.", "300"),
    }),
    Walk("2026-10-18T09:20", "treacle", "cold", {
        "right-track/adjuster": Known("Gone"),
        "engine/oil-state": Known("Still there"),
        "crew/reservoir": Bad("below", "Between the mark and the union."),
        "left-track/sag": Bad("tight", "", "14"),
    }),
    Walk("2026-10-18T09:58", "clog", "cold", {
        "engine/oil-level": Bad("risen", "Up by a finger since Saturday morning, and it smells.", "36"),
        "underneath/tanks-drain#front": Bad("water", "Half a cup, no oil in it."),
        "start/build-up": Bad("slow", "", "4.3"),
    }, (Else("tail", "Recovery jib: the pawl spring hangs by one coil. No check asks for it.", "major"),)),
    Walk("2026-10-18T10:22", "trowel", "cold", {
        "crew/leak-down": Bad("low", "Overnight, from 7.4.", "1.7"),
        "battery/rest-volts": Good("25.2"),
    }),
    Walk("2026-10-18T10:50", "nutmeg", "cold"),
    Walk("2026-10-18T11:15", "dumpling", "cold", {
        "stands/openings": Bad("water", "A cupful in the inlet cover. Dried and closed again."),
        "left-track/sag": Skip("Locked"),
        "right-track/sag": Skip("Locked"),
    }),
)  # fmt: skip

ODILE = (
    Walk("2026-10-17T08:20", "bramble", "before", {
        "start/tiller-latch": Bad("pulls", "To the right, with the tiller straight."),
    }),
    Walk("2026-10-17T08:50", "parsnip", "before", {
        "crew/extinguishers": Bad("out-of-date", "Spring of this year."),
        "deck/fasteners": Bad("seal", "Rear edge, perished."),
    }),
    Walk("2026-10-17T09:20", "thimble", "before", {
        "left-track/pins": Bad("retainer", "Third link from the top, pin out by a thumb.", photo="retainer"),
    }),
    Report("2026-10-17T11:40", "bellows", "visitor", "Steam from under the left front while she stood at the rope."),
    Walk("2026-10-17T11:50", "bramble", "hot", {
        "drive/diff-heat#left": Bad("hot", "Oil smells burnt.", "121"),
        "crew/tiller-hot": Bad("long", "Half a hand more than on the way out."),
    }),
    Walk("2026-10-17T12:32", "parsnip", "hot", {
        "left-wheels/drum-heat#1": Bad("binding", "The other three at 95.", "212"),
        "crew/brake-pedal-hot": Bad("spongy"),
    }),
    Walk("2026-10-17T13:08", "thimble", "hot", {
        "engine/fuel-weep-hot": Bad("union", "Damp round the float chamber union.", leak=(1, "unseen"), photo="union"),
        "drive/drum-heat#left": Skip("Too hot"),
        "drive/drum-heat#right": Skip("Too hot"),
    }),
    Walk("2026-10-17T13:52", "bellows", "hot", {
        "left-track/sprocket-heat": Bad("binding", "Right side 92.", "188"),
        "crew/charging": Bad("low", "", "25.9"),
        "cooling/weep-hot": Bad("core", "Green crust left of the filler.", leak=(1, "low")),
    }),
    TopUp("2026-10-17T14:10", "bellows", "coolant", "2.5", "below the tubes", "a finger below the cap"),
    Walk("2026-10-17T14:28", "treacle", "hot", {
        "left-wheel/front-heat": Good("64"),
    }),
    Walk("2026-10-18T08:42", "bramble", "cold", {
        "right-track/sag": Bad("tight", "", "14"),
        "drive/diff-level": Bad("lining-dust", "Grey on the stick."),
    }),
    Walk("2026-10-18T09:22", "parsnip", "cold", {
        "crew/master-leak": Bad("boot-wet", "Wet inside the boot, none on the floor.", leak=(1, "ok"), photo="boot"),
        "underneath/axle-level": Bad("low"),
        "battery/rest-volts": Bad("low", "", "12.1"),
    }),
    Walk("2026-10-18T10:02", "thimble", "cold", {
        "left-track/adjuster": Bad("creeps", "Lost 6 mm since Saturday.", "52"),
        "fuel/tank": Bad("drain", "Drop forming at the plug.", leak=(2, "unseen")),
        "right-track/sag": Bad("slack", "", "37"),
    }, (Else("left-side", "Crack in the mudguard stay, a finger long, looks fresh.", "minor", photo="bracket"),)),
    Walk("2026-10-18T10:44", "ladle", "cold", {
        "start/parking-brake": Bad("too-many", "", "12"),
        "start/cold-start": Bad("spits", "Through the carburettor until warm."),
    }),
    Walk("2026-10-18T11:10", "bellows", "cold", {
        "left-track/adjuster": Bad("shear-pin", "Pin half through."),
        "cooling/level": Bad("low", "A litre since yesterday's top-up."),
    }),
    Walk("2026-10-18T11:45", "mangle", "cold", {
        "tail/puddles": Bad("oil-spots", "Old, dry at the edge."),
        "battery/rest-volts": Bad("will-not-hold", "Charged on Thursday.", "11.4"),
        "left-track/sag": Skip("Dark"),
        "right-track/sag": Skip("Mud"),
    }),
)  # fmt: skip

PHONES = (
    Phone("MF", 0, "1-maud", MAUD),
    Phone("TA", 0, "2-tobin", TOBIN),
    Phone("OG", 73, "3-odile", ODILE),
)
