"""Forms on which the labeller's weights were chosen and fitted; no figure is quoted on them.

Common practice, written from memory: the kinds of forms that `bench.progressions.FORMS` has
(blues, minor, rhythm changes, cycles, ladders, vamps), in other keys and with other chords.
"""

TUNING_FORMS = (
    # many kinds
    "C13 F9 C13 Gm9 C7(#9,b13) F9 F#dim7 C13 A7(b9) Dm9 G13 Em9 A7(#9) Dm9 G13",
    "Ebmaj9 C7(b9) Fm9 Bb13 Gm9 C7(#9) Fm9 Bb13 Bbm9 Eb13 Abmaj9 Dbm6 Gm9 C7(b9) Fm9 Bb13",
    "Am7 D13 Am7 D13 Gm9 C13 Gm9 C13 Fmaj9 Dm9 Gm9 C13",
    "Gmaj9 Gm9 C13 Fmaj9 Fm9 Bb13 Ebmaj9 Am7b5 D7(b9) Gm6 Gm6 Am7b5 D7(b9,b13) Gmaj9",
    (
        "Cm7 Fm9 Bb13 Ebmaj9 Abmaj9 Dm7b5 G7(b9,b13) Cm6 Cm6 G7(#9,b13) Cm9 Fm9 Bb13 Ebmaj9 "
        "Abmaj9 Dm7b5 G7(b9) Cm6/9"
    ),
    "Dbmaj9 Bbm9 Ebm9 Ab13 Dbmaj9 Db7(b9) Gbmaj9 Gbm6 Fm9 Bb7(#9,b13) Ebm9 Ab13 Dbmaj9 Ab13",
    "Fmaj9 D7(#9,b13) Gm9 C13 Am7b5 D7(b9) Gm9 Bbm9 Eb13 Am9 Abdim7 Gm9 C13 F6/9",
    "Abmaj9 Gm7b5 C7(b9,b13) Fm9 Bb13 Ebm9 Ab13 Dbmaj9 Dbm9 Gb13 Cm9 F7(b9) Bbm9 Eb13 Abmaj9 Eb13",
    "Bbmaj9 Em7b5 A7(b9,b13) Dm9 G13 Cm9 F13 Bbmaj9 Abm9 Db13 Gbmaj9 Cm9 F13 Bbmaj9",
    "Em7b5 A7(b9,b13) Cm9 F13 Fm9 Bb13 Ebmaj9 Ab9(#11) Bbmaj9 Em7b5 A7(b9) Dm9 Gm9 C13 Fmaj9",
    "Cmaj9 Cm9 F13 Bbmaj9 Bbm9 Eb13 Abmaj9 Dm7b5 G7(b9,b13) Cmaj9 A7(b9) Dm9 G13",
    "Gm9 Gm9 Gm9 Abm9 Abm9 Gm9 Gm9 C13 C13 Gm9",
    "Amaj9 F#m9 Bm9 E13 C#m9 F#7(b9) Bm9 E13 Em9 A13 Dmaj9 Dm6 C#m9 C13 Bm9 Bb9(#11) A6/9",
    (
        "Fm9 Fm9 Ebm9 Ab13 Dbmaj9 Dbmaj9 Gm7b5 C7(#9,b13) Fm6 Fm6 Bbm9 Eb13 Abmaj9 Dbmaj9 "
        "Gm7b5 C7(b9,b13) Fm6"
    ),
    "E6/9 C#7(b9) F#m9 B13 G#m9 C#7(#9) F#m9 B13 E13 A9 E13 C#7(b9) F#m9 B13 E6 B13",
    "G6 E7(b9) Am9 D13 Bm9 E7(#9,b13) Am9 D9sus G6 G13 Cmaj9 Cm6 Bm9 Bbdim7 Am9 D13",
    "Bb13 Eb9 Bb13 Bb7(#9,b13) Eb9 Edim7 Dm9 G7(b9) C9 F13 Dm9 G7(#9) Cm9 F13",
    "Ab6/9 Fm9 Bbm9 Eb13 Cm9 F7(#9) Bb13 Eb13 Ebm9 Ab13 Dbmaj9 Gb13 Ab6/9 Eb9sus Ab6/9",
    "F#m7b5 B7(b9,b13) Em9 A13 Dm9 G13 Cmaj9 F9(#11) Em9 Ebdim7 Dm9 G13 C6/9 C6/9",
    "Gm11 Gm11 Am11 Gm11 Gm11 Bbm11 Bbm11 Am11 Gm11 Gm11",
    "F9sus F9sus Eb9sus Eb9sus F9sus F9sus Ab9sus Ab9sus",
    "Ebmaj9 F#13 Bmaj9 D13 Gmaj9 Bb13 Ebmaj9",
    # minor blues
    "Em9 Em9 Am6 Em6 Bm7b5 E7(b9) Am9 Am6 Em6 C9 B7(#9) Em6 B7(b9)",
    "Bbm6 Fm7b5 Bb7(b9) Ebm9 Ebm6 Bbm6 Gm7b5 Cm7b5 F7(b9) Bbm6 Cm7b5 F7(b9,b13)",
    "Gm6 Gm6 Gm6 Gm6 Cm6 Cm6 Gm6 Gm6 Eb9 D7(#9) Gm6 Gm6",
    # minor tunes with i6
    "Am6 F9 E7(b9) Am6 Am6 F9 E7(b9) Am6 Dm9 G9 Cmaj9 F9 Bm7b5 E7(b9) Am6 E7(b9)",
    "Cm6 G7(b9) Cm6 C7(b9) Fm6 Cm6 D9 G7(b9) Cm6 Cm6",
    "Bm6 F#7(b9) Bm6 B7(b9) Em6 Bm6 C#m7b5 F#7(b9) Bm6 Bm6",
    "Ebm6 Bb7(b9) Ebm6 Ebm6 Abm9 Db13 Gbmaj9 B9 Bb7(#9,b13) Ebm6 Fm7b5 Bb7(b9) Ebm6 Ebm6",
    "Gm6 Gm6 A7(b9) A7(b9) Am7b5 D7(b9) Gm6 Gm6 Cm9 F13 Bbmaj9 Ebmaj9 Am7b5 D7(#9) Gm6 Gm6",
    "Dm6/9 Bm7b5 Em7b5 A7(b9) Dm6/9 Bb9 A7(#9,b13) Dm6/9",
    "Am9 Am6 Dm9 Dm6 Bm7b5 E7(b9) Am6 Am6 Gm9 C9 Fmaj9 Fmaj9 Bm7b5 E7(b9) Am6 E7(b9)",
    "C#m6 G#7(b9) C#m6 C#7(b9) F#m9 F#m6 C#m6 D#m7b5 G#7(b9) C#m6",
    (
        "Bbm9 Ebm9 Ab13 Dbmaj9 Gbmaj9 Cm7b5 F7(b9) Bbm6 Bbm6 Bb7(b9) Ebm9 Ab9 Dbmaj9 Cm7b5 "
        "F7(#9,b13) Bbm6"
    ),
    # minor, line and modal minor
    "Am9 AmMaj9 Am9 Am6 Dm9 G13 Cmaj9 Fmaj9 Bm7b5 E7(b9) Am6 Bm7b5 E7(b9)",
    "Fm9 FmMaj9 Fm9 Fm6 Bbm9 Eb9 Abmaj9 Dbmaj9 Gm7b5 C7(b9,b13) Fm6 Fm6",
    "EmMaj9 Em9 Em6 Am9 D13 Gmaj9 Cmaj9 F#m7b5 B7(b9) EmMaj9",
    "Cm9 Cm9 Am7b5 Abmaj9 Dm7b5 G7(b9) Cm9 Cm9 Fm9 Bb13 Ebmaj9 Abmaj9 Dm7b5 G7(#9,b13) Cm6",
    # major songs
    "Cmaj9 Cmaj9 E7(b9) E7(b9) A7(b9) A7(b9) Dm9 Dm9 E7(#9) E7(#9) Am9 Am9 D13 D13 Dm9 G13",
    "Fmaj9 Fmaj9 G13 G13 Gm9 C13 Fmaj9 C13",
    "Bbmaj9 D7(b9) Gm9 Bb13 Ebmaj9 Ab13 Bbmaj9 G7(b9) Cm9 F13 Dm7b5 G7(b9) Cm9 F13 Bb6/9 Bb6/9",
    "Ebmaj9 Ab13 Ebmaj9 Gm7b5 C7(b9) Fm9 Abm6 Ebmaj9 Cm9 F13 Bb9sus Bb13 Eb6/9",
    "Gmaj9 Bm7b5 E7(b9) Am9 Cm6 Gmaj9 Em9 A13 D13 Gmaj9 Em9 Am9 D13",
    "Abmaj9 Abmaj9 C7(b9) Fm9 Ebm9 Ab13 Dbmaj9 Gb13 Abmaj9 F7(b9) Bb13 Bbm9 Eb13 Ab6 Eb13",
    "Dmaj9 Dm9 G13 Cmaj9 Cm9 F13 Bbmaj9 Em7b5 A7(b9) Dmaj9 B7(b9) Em9 A13 D6/9 A13",
    "Cmaj9 Am9 Dm9 G13 Em7b5 A7(b9) Dm9 Fm6 Em9 A7(b9) Dm9 G13 C6 Am9 Dm9 G13",
    "Fmaj9 Em7b5 A7(b9) Dm9 Cm9 F13 Bbmaj9 Bbm6 Am9 D7(b9) Gm9 C13 F6 C13",
    "Ebmaj9 Dm7b5 G7(b9) Cm9 F13 Bbm9 Eb13 Abmaj9 Abm6 Gm9 C7(b9) Fm9 Bb13 Eb6 Bb13",
    "Dbmaj9 F7(b9) Bbm9 Abm9 Db13 Gbmaj9 Gbm6 Dbmaj9 Bb7(b9) Ebm9 Ab13 Db6/9 Ab13",
    "Amaj9 A13 Dmaj9 Dm6 Amaj9 F#7(b9) B13 E13 A6/9 F#7(b9) Bm9 E13",
    "G6 G6 G13 G13 Cmaj9 Cm6 G6 E7(b9) A13 D13 G6 D13",
    "Cmaj9 C7 Fmaj9 Fm6 Cmaj9 A7(b9) D13 G13 C6 G13",
    "Bbmaj9 Am7b5 D7(b9) Gm9 C13 Fm9 Bb13 Ebmaj9 Ebm9 Ab13 Dm9 G7(b9) Cm9 F13 Bb6 F13",
    "F6 D9 G9 C9 F6 F6 A7(b9) Dm9 G13 Gm9 C13",
    "Ab6 F9 Bb9 Eb9 Ab6 Ab13 Db6 Dbm6 Ab6 F9 Bb9 Eb9 Ab6 Eb13",
    "Emaj9 C#m9 F#m9 B13 Emaj9 E13 Amaj9 Am6 G#m9 C#7(b9) F#m9 B13 E6/9 B13",
    "Bmaj9 G#m9 C#m9 F#13 D#m9 G#7(b9) C#m9 F#13 B6 F#13",
    "Gmaj9 Gm6 F#m9 B7(b9) Em9 A13 Dmaj9 B7(b9) Em9 A13 D6/9",
    "Cm9 F13 Dm9 G7(#9,b13) Cm9 F13 Bbmaj9 Bbm9 Eb13 Abmaj9 Am7b5 D7(b9) Gmaj9 Cm9 F13 Bb6/9",
    "Fm9 Bb13 Ebmaj9 C7(b9) Fm9 Bb13 Ebmaj9 Ebmaj9 Am9 D13 Gmaj9 E7(b9) Am9 D13 Gm9 C7(b9)",
    # dominants within a key
    "F6/9 A13 D13 G13 C13 F6/9",
    "Cmaj9 B9 E13 A9 D13 G9 Cmaj9 C6/9",
    "G6 B7(b9) E9 A13 D9 G6 E9 A13 D9 G6",
    "Eb6 C9 F13 Bb9 Eb6 G7(b9) C9 F13 Bb9 Eb6",
    "Am9 D13 G13 C13 F13 Bb13 Ebmaj9 Ebmaj9",
    "Abmaj9 C13 F9 Bb13 Eb9 Abmaj9",
    "D6 F#13 B9 E13 A9 D6 D13 G6 Gm6 D6 B9 E13 A9 D6",
    "Dbmaj9 F13 Bb13 Eb13 Ab13 Dbmaj9 Bb13 Eb13 Ab13 Db6/9",
    "G13 C13 F13 Bb13 Eb13 Ab13 Dbmaj9",
    # blues
    "Bb13 Eb9 Bb13 Bb13 Eb9 Eb9 Bb13 Bb13 F13 Eb9 Bb13 F13",
    "G13 C9 G13 Dm9 G13 C9 C#dim7 G13 E7(b9) Am9 D13 Bm9 E7(b9) Am9 D13",
    "Eb13 Ab9 Eb13 Bbm9 Eb13 Ab9 Adim7 Eb13 C7(#9,b13) Fm9 Bb13 Gm9 C7(b9) Fm9 Bb13",
    "A13 D9 A13 A13 D9 D#dim7 A13 F#7(b9) B13 E13 A13 E13",
    # turnarounds
    "Cmaj9 C#dim7 Dm9 G13 Em9 A7(b9) Dm9 G13 C6 Ebdim7 Dm9 G13",
    "Gmaj9 Bb13 Ebmaj9 Ab13 Gmaj9 Gmaj9",
    "Bb6 Db9 C9 B9 Bb6 G7(b9) Gb13 F13 Bb6/9",
    "Dmaj9 B7(b9) Em9 A13 F#m9 B7(#9) Em9 A13 D6/9 F9 E9 Eb9 D6/9",
    "F6 F#dim7 Gm9 C13 F6 F7 Bb6 Bdim7 F6 D7(b9) G13 C13 F6",
    "Am9 Ab9(#11) Gmaj9 Gmaj9 Bm9 Bb9(#11) Am9 Ab9(#11) Gmaj9",
    # sus
    "G9sus G9sus C9sus C13 Fmaj9 F6/9 Bb9sus Bb13 Ebmaj9 Ebmaj9",
    "Dm9 G9sus G13 Cmaj9 Am9 D9sus D13 Gmaj9",
    "Fmaj9 Gm9 C9sus C13(b9) Fmaj9 Bb9sus Bb13 Ebmaj9 C9sus C13 F6/9",
    "A9sus A13 Dmaj9 B9sus B7(b9) Em9 A9sus A13(b9) D6/9 D6/9",
    "E9sus E9sus G9sus G9sus E9sus E9sus D9sus D9sus E9sus",
    "Cm9 F9sus F13 Bbmaj9 Ebmaj9 Am7b5 D9sus D7(b9) Gm6 Gm6",
    "Ebmaj9 Bb9sus Ebmaj9 Bb9sus Ebmaj9 Ab13 Gm9 C7(b9) F9sus F13 Bb9sus Bb13",
    # modal and plateau
    "Fm11 Fm11 Fm11 Gbm11 Gbm11 Fm11 Fm11",
    "Bm11 C#m11 Bm11 C#m11 Bm11 Bm11",
    "Cm9 F13 Cm9 F13 Cm9 F13 Abmaj9 G7(#9,b13) Cm9 F13",
    "Em9 A13 Em9 A13 Dm9 G13 Dm9 G13 Cmaj9 F13 Em9 A13",
    "Am9 Am9 Bbmaj9 Bbmaj9 Am9 Am9 Gm9 C13 Fmaj9 Bm7b5 E7(b9) Am9",
    "Dm9 Ebmaj9 Dm9 Ebmaj9 Gm9 C13 Fmaj9 Em7b5 A7(b9) Dm9",
    "Ebmaj9 Ebmaj9 Dbmaj9 Dbmaj9 Ebmaj9 Ebmaj9 Dbmaj9 Dbmaj9",
    "Abmaj9 Gm9 Abmaj9 Gm9 Fm9 Bb13 Ebmaj9 Ebmaj9",
    "Cmaj9(#11) Ebmaj9(#11) Abmaj9(#11) Dbmaj9(#11) Cmaj9(#11)",
    # ladders and cycles of ii-V
    "F#m7b5 B7(b9) Em7b5 A7(b9) Dm7b5 G7(b9) Cm9 F13 Bbmaj9",
    "Bm7b5 E7(b9) Am7b5 D7(b9) Gm7b5 C7(b9) Fm6 Fm6",
    "Am9 D13 Gm9 C13 Fm9 Bb13 Ebmaj9 Ab13 Dm9 G13 Cmaj9",
    "Cm9 F13 Bbmaj9 Am9 D13 Gmaj9 Gm9 C13 Fmaj9",
    "Dm9 G13 Cmaj9 Fm9 Bb13 Ebmaj9 Abm9 Db13 Gbmaj9 Gbmaj9",
    "Cm9 F13 Ebm9 Ab13 Gbm9 B13 Am9 D13 Gmaj9",
    "Gmaj9 Bb13 Ebmaj9 F#13 Bmaj9 Bm9 E13 Amaj9 C13 Fmaj9 Ab13 Dbmaj9",
    "Emaj9 G13 Cmaj9 Eb13 Abmaj9 Am9 D13 Gmaj9 Bb13 Ebmaj9 F#13 Bmaj9",
    # two keys, back doors, plagal
    "Dmaj9 Gm9 C13 Dmaj9 Bm9 E13 Em9 A13 Dmaj9",
    "Gmaj9 Cm6 F9 Gmaj9 E7(b9) Am9 Cm6 Gmaj9 Gmaj9",
    "Ebmaj9 Gm9 C7(b9) Fm9 Abm9 Db13 Ebmaj9 Cm9 Fm9 Bb13 Eb6",
    "Cmaj9 Cmaj9 F#m7b5 B7(b9) Em9 A13 Dm9 G13 Cmaj9 Bbm9 Eb13 Abmaj9 Dm7b5 G7(b9) Cmaj9",
    "Bbmaj9 Bbmaj9 Bm9 E13 Amaj9 Amaj9 Cm9 F13 Bbmaj9 Gm9 Cm9 F13",
    "Fmaj9 Abm9 Db13 Gbmaj9 Am9 D13 Gm9 C13 Fmaj9",
    "Gm9 C13 Fmaj9 Bbmaj9 Em7b5 A7(b9) Dm9 Dm9 Cm9 F13 Bbmaj9 Ebmaj9 Am7b5 D7(b9) Gm9 C13",
    "Dbmaj9 Ebm9 Ab13 Dbmaj9 Gm7b5 C7(b9) Fm9 Bb7(b9) Ebm9 Gbm6 Dbmaj9 Dbmaj9",
    "Amaj9 C#m7b5 F#7(b9) Bm9 Dm6 Amaj9 Gm9 C13 Fmaj9 Bm9 E13 A6/9",
    # minor blues
    "Dm6 Dm6 Am7b5 D7(b9) Gm6 Gm6 Dm6 Dm6 E7(b9) A7(b9) Dm6 Dm6",
    "Bm6 F#7(b9) Bm6 B7(b9) Em6 Em6 Bm6 G9 C#m7b5 F#7(b9) Bm6 Bm6",
    "F#m6 F#m6 Bm6 F#m6 Bm6 Bm6 F#m6 D9 C#7(b9) C#7(b9) F#m6 F#m6",
    # minor tunes with i6, more
    "Gm6 Am7b5 D7(b9) Gm6 Dm7b5 G7(b9) Cm6 Cm6 Eb9 D7(b9) Gm6 D7(b9)",
    "Am6 E7(b9) Am6 Dm6 G9 Cmaj9 E7(b9) Am6",
    "Dm6 Gm6 Dm6 A7(b9) Dm6 Gm6 A7(b9) Dm6",
    "Cm6 Cm6 Fm6 Fm6 G7(b9) G7(b9) Cm6 Cm6 Eb6 Eb6 Ab9 G7(b9) Cm6",
    "Em6 Am6 B7(b9) Em6 G6 D9 G6 B7(b9) Em6",
    "Fm6 Bbm6 C7(b9) Fm6 Eb9 Abmaj9 Gm7b5 C7(b9) Fm6",
    "Bbm6 Ebm6 F7(b9) Bbm6 Gb9 F7(b9) Bbm6 Bbm6",
    "Am6 Am6 Bm7b5 E7(b9) Am6 Gm6 A7(b9) Dm6 F9 E7(b9) Am6",
    "Gm9 Cm9 F13 Bbmaj9 D7(b9) Gm6 Gm6 A9 D7(b9) Gm6",
    "Ebm6 Abm6 Bb7(b9) Ebm6 Db9 Gbmaj9 Fm7b5 Bb7(b9) Ebm6 Ebm6",
    # dominants within a key
    "Ebmaj9 Ab9 Ebmaj9 C13 F9 Bb13 Ebmaj9",
    "C6 E13 A9 D13 G9 C6",
    "Bb6 Bb6 G13 G13 C9 F13 Bb6 Bb6",
    "Am9 B9 E13 A9 D13 Gmaj9 Cmaj9 F#m7b5 B7(b9) Em9",
    "F6 F13 Bb6 Bb6 G9 G9 C13 C13 F6",
    # blues
    "Eb9 Eb9 Ab13 Eb9 Ab13 Ab13 Eb9 Eb9 Bb13 Ab13 Eb9 Bb13",
    "G13 G13 G13 G13 C9 C9 G13 G13 D9 C9 G13 D9",
    "Fmaj9 Bb13 Fmaj9 Cm9 F13 Bb13 Bbm6 Am9 D7(b9) G13 C13 Fmaj9 C13",
    "B13 E9 B13 F#m9 B13 E9 E9 B13 G#7(b9) C#9 F#13 B13 F#13",
    # turnarounds
    "Cmaj9 Eb9 Abmaj9 Db9 Cmaj9 Cmaj9",
    "Ab6 B9 Bbm9 A9 Ab6 F7(b9) Bbm9 A9(#11) Ab6",
    "Gmaj9 G#dim7 Am9 D13 Bm9 E7(b9) Am9 D13 Gmaj9",
    "Dmaj9 D#dim7 Em9 A13 Dmaj9 D13 Gmaj9 Gm6 Dmaj9 A13 Dmaj9",
    "Ebmaj9 D9 Dbmaj9 C9 Fm9 E9 Ebmaj9",
    # ladders
    "Em9 A13 Dmaj9 Cm9 F13 Bbmaj9 Bbm9 Eb13 Abmaj9",
    "Gm9 C13 Am9 D13 Bm9 E13 Amaj9",
    "C#m9 F#13 Cm9 F13 Bbmaj9 Ebmaj9",
    "Fm9 Bb13 Gm9 C13 Am9 D13 Gmaj9 G6/9",
    "Abm9 Db13 Gm9 C13 Fmaj9 Fmaj9",
)
