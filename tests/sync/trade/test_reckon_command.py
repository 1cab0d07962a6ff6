"""`driptray reckon`: every subject by hand, in lines and as JSON, and what is said of bad input."""

import json

import pytest
from click.testing import CliRunner, Result

from sync.reckon import reckon
from sync.trade.reckoning import MANUAL_FIRST

#: One call of every subject: arguments, and words of the headline.
CALLS = {
    "convert": (["45psi", "kpa"], "45 psi = 310.2641 kPa"),
    "reading": (["2.4in", "--low", "15mm", "--high", "35mm"], "above the highest allowed"),
    "odd": (["41C", "43C", "40C", "rear=88C"], "Hub rear is the odd one"),
    "leak": (["engine oil", "--class", "3", "--found", "before", "--level", "low"], "dangerous"),
    "tracks": (
        [
            "--span",
            "3000mm",
            "--sag",
            "300mm",
            "--wanted",
            "95mm",
            "--span",
            "1200mm",
            "--sag",
            "60mm",
            "--wanted",
            "15mm",
            "--wrap",
            "150",
            "--outward",
            "20mm",
            "--inward",
            "60mm",
            "--pitch",
            "6in",
        ],
        "take out 1 link",
    ),
    "pitch": (["--length", "1560mm", "--links", "10", "--new", "152.4mm", "--limit", "156mm"], "at or past"),
    "oil-level": (["--before", "30L", "--after", "32L", "--sump", "30L"], "at least 6.25 %"),
    "oil-viscosity": (["--fresh", "100", "--now", "75.59", "--fuel", "3"], "Between 5 and 8 %"),
    "oil-pressure": (["10psi", "--low", "20psi", "--high", "60psi"], "too low"),
    "gravity": (["1.250", "1.250", "--at", "20F"], "1.226 at 80 °F"),
    "rest-volts": (["12.4", "--nominal", "12"], "about 75 % charged"),
    "cranking": (["9V", "--nominal", "12"], "under the least of 9.6 V"),
    "build-up": (["4min", "--energy", "air"], "longer than"),
    "leak-down": (["--drop", "12psi", "--minutes", "3", "--applied"], "over"),
    "reserve": (["1"], "dangerous"),
    "stop": (["--speed", "20mph", "--distance", "35ft"], "within the"),
    "parking": (["--gradient", "16%", "--required", "16%"], "15.8 %"),
    "lining": (["1.2mm"], "dangerous"),
    "compression": (["125psi", "122psi", "118psi", "95psi"], "The rules disagree: cylinder 4"),
    "rubber": (["--chunk", "3in", "4in"], "largest chunk, dangerous"),
    "path-rubber": (["60%"], "over the 50 % allowed"),
    "trend": (["0=12.0", "1=11.6", "2=11.1", "3=10.8", "4=10.2", "--low", "9"], "falling by 0.44"),
    "availability": (["--between", "60", "--mending", "5", "--waiting", "15"], "Available 75 %"),
    "failures": (["--hours", "800"], "at least 267 h"),
    "risk": (["3", "E"], "Medium risk"),
}


def call(*arguments: str) -> Result:
    return CliRunner().invoke(reckon, list(arguments))


def test_every_subject_is_called_here() -> None:
    assert set(CALLS) == set(reckon.commands)


@pytest.mark.parametrize("subject", CALLS)
def test_a_subject_answers_in_lines(subject: str) -> None:
    arguments, words = CALLS[subject]
    result = call(subject, *arguments)
    assert result.exit_code == 0, result.output
    assert words in result.output.splitlines()[0]
    assert MANUAL_FIRST in result.output


@pytest.mark.parametrize("subject", CALLS)
def test_a_subject_answers_as_json_and_nothing_else(subject: str) -> None:
    arguments, words = CALLS[subject]
    found = json.loads(call(subject, *arguments, "--json").stdout)
    assert words in found["headline"]
    assert {"verdict", "figures", "inputs", "formula", "source", "assumptions", "cautions", "todo"} <= set(found)


@pytest.mark.parametrize("subject", CALLS)
def test_a_subject_explains_itself(subject: str) -> None:
    result = call(subject, "--help")
    assert result.exit_code == 0
    assert "--json" in result.output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("reading", "--low", "15mm", "--", "-5mm"), "cannot be"),
        (("tracks", "--span", "3m", "--sag", "2m", "--wanted", "95mm"), "sag is 2000 mm"),
        (("tracks", "--span", "3m", "--sag", "10mm", "--sag", "9mm", "--wanted", "5mm"), "1 spans, 2 sags"),
        (("gravity", "a=1.25", "a=1.26", "--at", "20C"), '"a" is given twice'),
        (("gravity", "2", "1.2", "--at", "20C"), "specific gravity is 2"),
        (("convert", "1mm", "furlong"), '"furlong" is no unit'),
        (("convert", "1mm", "kPa"), "no unit of pressure"),
        (("rest-volts", "14.4V", "--nominal", "12"), "is no rested 12 V battery"),
        (("trend", "0=12", "1;11"), '"1;11" is no point'),
        (("parking",), "neither --force with --weight nor --gradient"),
        (("risk", "9", "A"), "severity 9 is none of the matrix"),
        (("compression", "125psi"), "has no fellows"),
    ],
)
def test_input_at_fault_is_said_in_a_line_and_exits_one(arguments: tuple[str, ...], words: str) -> None:
    result = call(*arguments)
    assert result.exit_code == 1
    assert words in result.stderr
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("tracks", "--span", "3000"), "has no unit"),
        (("lining", "1.2 bar"), "no unit of length"),
        (("leak", "treacle", "--class", "1", "--found", "before"), "treacle"),
        (("leak", "petrol", "--class", "4", "--found", "before"), "4"),
        (("gravity", "--at", "20C"), "CELLS"),
    ],
)
def test_misuse_exits_two_with_the_way_out(arguments: tuple[str, ...], words: str) -> None:
    result = call(*arguments)
    assert result.exit_code == 2
    assert words in result.stderr


def test_parking_takes_forces_as_well_as_a_slope() -> None:
    assert "Parking brake 16 %" in call("parking", "--force", "1600", "--weight", "10000").output


def test_a_tracked_vehicle_and_its_first_use_are_told_to_the_brake_subjects() -> None:
    result = call("build-up", "4min", "--energy", "vacuum", "--first-used", "1936-01-01", "--tracked")
    assert "does not bind" in result.output
    assert "guide only" in result.output


def test_an_earlier_level_makes_a_rise_a_fault() -> None:
    result = call("reading", "30mm", "--high", "40mm", "--earlier", "25mm")
    assert "Verdict: advisory" in result.output


def test_a_leak_without_a_level_counts_as_low() -> None:
    assert "level: not looked at" in call("leak", "coolant", "--class", "1", "--found", "after").output
    assert "Verdict: advisory" in call("leak", "coolant", "--class", "1", "--found", "after", "--level", "ok").output
