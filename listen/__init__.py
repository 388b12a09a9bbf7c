"""Sound to notes, beats and attacks. Knows no harmony."""
