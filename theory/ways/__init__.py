"""What else could be played: other voicings of the same chords, and the nearest way through them.

In: chords, the hands and their reach. Out: placed voicings in order of how little moves. Read
`choices` (every voicing of one chord) over `builds` (close chords and their drops) and `reach`;
then `families`, `through` (a whole progression), `other_ways` (one place in a take).
"""
