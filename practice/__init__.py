"""Takes over time: targets, keys, drills, the library. The room is laid, not yet furnished."""
