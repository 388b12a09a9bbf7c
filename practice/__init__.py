"""Takes over time: targets, passes through the keys, drills, the library. Knows no report."""
