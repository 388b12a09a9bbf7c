"""A take to something to read, print, play or open elsewhere: one record, many renderers."""
