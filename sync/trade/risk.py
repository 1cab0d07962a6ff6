"""The risk matrix of MIL-STD-882E as a table, for those who must write a risk beside a severity."""

from typing import Literal

from sync.errors import TradeError

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
