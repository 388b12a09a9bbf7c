"""Notes to chords, degree stacks and motion. Pure Python and numpy; knows no sound."""
