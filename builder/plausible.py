"""What a reading can be at all, by quantity, whatever a template says.

Wide on purpose: a template's own `least` and `most` are the narrow bounds. Common practice, no source, but
for the coldest air ever measured (-89.2 °C, from memory) and the vacuum (-101.325 kPa on a gauge).
"""

#: quantity -> (least, most) in its base unit, None where there is no bound.
PLAUSIBLE: dict[str, tuple[float | None, float | None]] = {
    "length": (0, 100_000),
    "distance": (0, 1_000_000),
    "pressure": (-101.325, 100_000),
    "torque": (0, 20_000),
    "temperature": (-90, 1_500),
    "temperature difference": (-1_500, 1_500),
    "volume": (0, 10_000),
    "voltage": (-1_000, 1_000),
    "current": (-5_000, 5_000),
    "specific gravity": (0.6, 1.5),
    "speed": (0, 200),
    "rotation": (0, 20_000),
    "time": (0, 400_000_000),
    "count": (0, 1_000_000),
    "percent": (0, 1_000),
    "angle": (-360, 360),
}
