"""The risk matrix of MIL-STD-882E as a table, for those who must write a risk beside a severity."""

from typing import Literal

from sync.errors import TradeError
from sync.trade.reckoning import Figure, Reckoning

Probability = Literal["A", "B", "C", "D", "E", "F"]
Risk = Literal["High", "Serious", "Medium", "Low", "Eliminated"]

SEVERITY = {1: "catastrophic", 2: "critical", 3: "marginal", 4: "negligible"}
PROBABILITY = {
    "A": "frequent",
    "B": "probable",
    "C": "occasional",
    "D": "remote",
    "E": "improbable",
    "F": "eliminated",
}

#: probability -> risk for severity 1 to 4. Source: MIL-STD-882E table III (3E is Medium).
MATRIX: dict[str, tuple[Risk, Risk, Risk, Risk]] = {
    "A": ("High", "High", "Serious", "Medium"),
    "B": ("High", "High", "Serious", "Medium"),
    "C": ("High", "Serious", "Medium", "Low"),
    "D": ("Serious", "Medium", "Medium", "Low"),
    "E": ("Medium", "Medium", "Medium", "Low"),
    "F": ("Eliminated", "Eliminated", "Eliminated", "Eliminated"),
}


def risk(severity: int, probability: str) -> Risk:
    """The risk of a severity (1 catastrophic to 4 negligible) and a probability (A frequent to F eliminated).

    Source: MIL-STD-882E table III. Raises TradeError for another severity or probability.
    """
    if severity not in SEVERITY:
        raise TradeError(f"severity {severity} is none of the matrix: expected 1, 2, 3 or 4")
    try:
        return MATRIX[probability.upper()][severity - 1]
    except KeyError:
        raise TradeError(f'probability "{probability}" is none of the matrix: expected A to F') from None


def advise(severity: int, probability: str) -> Reckoning:
    """The risk in words. Inputs and errors as `risk`; it names a risk, a person rules on it."""
    found = risk(severity, probability)
    words = f"{SEVERITY[severity]} and {PROBABILITY[probability.upper()]}"
    return Reckoning(
        subject="risk",
        headline=f"{words.capitalize()}: {found} risk.",
        verdict="not judged",
        figures=(Figure("risk", found),),
        inputs=(Figure("severity", str(severity)), Figure("probability", probability.upper())),
        formula="table of severity and probability",
        source="MIL-STD-882E table III",
        assumptions=("The probability is of the harm, over the vehicle's remaining life at displays.",),
    )
