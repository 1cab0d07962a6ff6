"""The edition as the scenario needs it: names for ids, and readings that are sound."""

import random
from typing import Any


class View:
    def __init__(self, edition: dict[str, Any]) -> None:
        self.edition = edition
        self.rng = random.Random(7)

    def stations(self, vehicle: str, round_name: str) -> list[dict[str, Any]]:
        """Stations of a round in walking order, each with its checks."""
        found = next(v for v in self.edition["vehicles"] if v["id"] == vehicle)
        stations = []
        for number, checks in found["stations"]:
            all_checks = [self.edition["checks"][c] for c in checks]
            asked = [c for c in all_checks if round_name == "full" or round_name in c.get("rounds", ["full"])]
            if asked:
                stations.append({**self.edition["stations"][number], "checks": asked})
        return stations

    def fault(self, check: dict[str, Any], fault: str) -> str:
        return str(next(f["name"] for f in check["faults"] if f["id"] == fault))

    def plausible(self, check: dict[str, Any]) -> str:
        """A reading well inside the limits, as an instrument would show it."""
        limits = check["reading"]
        low, high = limits.get("low"), limits.get("high")
        least, most = limits.get("least") or 0, limits.get("most")
        low = least + (high - least) * 0.4 if low is None else low
        high = low + ((most or low * 2) - low) * 0.4 if high is None else high
        value = low + (high - low) * self.rng.uniform(0.35, 0.65)
        places = {"SG": 3, "V": 1, "bar": 1, "min": 1}.get(limits["unit"], 0)
        return f"{value:.{places}f}"

    def unknown(self, places: dict[tuple[str, str, str], str]) -> list[str]:
        """(vehicle, round, place) -> fault: what the scenario says that the fleet does not have."""
        wrong = []
        for (vehicle, round_name, place), fault in places.items():
            check_id, _, spot = place.partition("#")
            checks = [c for s in self.stations(vehicle, round_name) for c in s["checks"] if c["id"] == check_id]
            if not checks or (spot and spot not in checks[0].get("spots", [])):
                wrong.append(f"{vehicle}, {round_name}: no place {place}")
            elif fault and fault not in [f["id"] for f in checks[0]["faults"]]:
                wrong.append(f"{vehicle}, {round_name}: {place} has no fault {fault}")
        return wrong
