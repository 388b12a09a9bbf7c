"""Bad input by the thousand: made from seeds, run, and judged by what comes of it."""
