"""The version, in one place: the package, `--version` and every take carry it."""

__version__ = "0.1.0"
