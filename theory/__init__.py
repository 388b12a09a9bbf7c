"""Notes to chords, degree stacks and motion. Pure Python and numpy; knows no sound.

In: attacks and beats, perhaps the changes. Out: voicings and motions. Read `reading`, the door;
then `sounding` (which notes make the voicing), `labelling` or `given` (its chord), `stacks` (what
it is), `form` and `motion` (where it stands and goes), and `explain` (all of it in a sentence).
`chords` is the ground floor: qualities, symbols, spelling; `sheet` reads changes on paper.
"""
