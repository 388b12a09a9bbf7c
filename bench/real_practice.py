"""Forms as they are practised, written out from the trade, for the bench of names.

Common practice, no tune: blues, rhythm changes, modal pairs, cycles, bossa-like forms, ballads
with an inner line, turnarounds, passing diminished chords, sus chains, plagal moves, line
cliches. Written as on a lead sheet; `bench.dressing` decides how they are voiced. Nothing is
fitted to any of them. CHOOSING helped to choose the weights of the labeller; figures are quoted
on QUOTED, which share no two thirds of a form and no stretch of more than eight chords with it.
"""

CHOOSING = {
    "blues, plain": "C7 F7 C7 C7 F7 F7 C7 C7 G7 F7 C7 G7",
    "blues with a passing chord": (
        "Eb7 Ab7 Eb7 Bbm7 Eb7 Ab7 Adim7 Eb7 C7alt Fm7 Bb7 Eb7 C7(b9) Fm7 Bb7"
    ),
    "minor blues": "Am6 Dm6 Am6 A7alt Dm7 Dm7 Am6 Am6 F7 E7alt Am6 E7(b9)",
    "rhythm changes": (
        "Ab6 Fm7 Bbm7 Eb7 Cm7 F7 Bbm7 Eb7 Ab7 Ab7 Db6 Ddim7 Ab6 F7 Bbm7 Eb7 "
        "C7 C7 F7 F7 Bb7 Bb7 Eb7 Eb7"
    ),
    "modal pair a half step apart": "Fm7 Fm7 Fm7 Gbm7 Gbm7 Gbm7 Fm7 Fm7",
    "cycle in major thirds": "Bbmaj7 Db7 Gbmaj7 A7 Dmaj7 F7 Bbmaj7 Bbmaj7",
    "bossa-like, major": "Dmaj7 Dmaj7 E7 E7 Em7 A7 Dmaj7 Eb7 Dmaj7 Dm7 G7 Gbmaj7",
    "bossa-like, minor": "Bm7 Bm6 C#m7b5 F#7(b9) Bm6 Em7 A7 Dmaj7 Gmaj7 C#m7b5 F#7alt Bm6",
    "ballad, inner line falling": (
        "Dm DmMaj7 Dm7 Dm6 Bbmaj7 Em7b5 A7(b9) Dm DmMaj7 Dm7 G7 Gm7 C7 Fmaj7 A7alt"
    ),
    "ballad, ii-V through keys": (
        "Ebmaj7 Am7 D7 Gmaj7 Gm7 C7 Fmaj7 Fm7 Bb7 Ebmaj7 Cm7 Fm7 Bb7alt Ebmaj7"
    ),
    "turnarounds": "Fmaj7 D7 Gm7 C7 Fmaj7 Ab7 Dbmaj7 Gb7 Am7 D7alt Gm7 C7 F6 D7 G7 C7 F6",
    "diminished passing up": "G6 G#dim7 Am7 A#dim7 Bm7 E7 Am7 D7 G6 G7 Cmaj7 C#dim7 G6 E7 Am7 D7",
    "diminished passing down": "Bbmaj7 Dm7 Dbdim7 Cm7 F7 Bbmaj7 Bbdim7 Bbmaj7 Dm7 Dbdim7 Cm7 F7",
    "cliche, fifth rising": "Ab Ab+ Ab6 Ab7 Dbmaj7 Gb7 Ab6 Eb7 Ab Ab+ Ab6 Ab7 Dbmaj7 Dbm6 Ab6",
    "back door": "Gmaj7 Cm7 F7 Gmaj7 Bm7 E7 Am7 Cm7 F7 Gmaj7 Em7 Am7 D7 G6",
    "sus chain": "F7sus F7sus Ab7sus Ab7sus B7sus B7sus F7sus Eb7sus F7sus",
    "sus to its dominant": "Cm7 F7sus F7 Bbmaj7 Bb7sus Bb7 Ebmaj7 Ebm6 Bb6 Cm7 F7sus F7alt Bb6",
    "plagal moves": "Eb Ab Eb Eb7 Ab Adim7 Eb C7 Fm7 Bb7sus Eb Ab Abm6 Eb",
    "minor, down to the dominant": "Em7 D7 Cmaj7 B7alt Em7 D7 Cmaj7 B7(b9) Em6 Am7 D7 Gmaj7 B7 Em6",
    "major, II7 held": "Cmaj7 D7 D7 Dm7 G7 Cmaj7 E7 E7 Am7 D7 Dm7 G7 C6 C6",
    "substitutes": "Am7 Ab7 Gmaj7 Bm7 Bb7 Am7 Ab7 Gmaj7 Dm7 Db7 Cmaj7 Cm7 F7 Bm7 Bb7 Am7 D7 Gmaj7",
    "waltz-like, modal": "Gm7 C7 Gm7 C7 Bbm7 Eb7 Bbm7 Eb7 Abmaj7 Am7b5 D7alt Gm7",
}

QUOTED = {
    "blues, quick change": "Bb7 Eb7 Bb7 Bb7 Eb7 Edim7 Bb7 G7 Cm7 F7 Bb7 G7 C7 F7",
    "blues, many ii-V": (
        "Gmaj7 F#m7b5 B7(b9) Em7 A7 Dm7 G7 C7 Cm7 F7 Bm7 E7 Bbm7 Eb7 Am7 D7 Bm7 E7 Am7 D7"
    ),
    "minor blues with bVI": "Dm7 Gm7 Dm7 D7alt Gm7 Gm6 Dm7 Dm7 Bb7 A7alt Dm6 Em7b5 A7(b9)",
    "rhythm changes, other bridge": (
        "Db6 Bb7 Ebm7 Ab7 Fm7 Bb7 Ebm7 Ab7 Abm7 Db7 Gbmaj7 B7 Fm7 Bb7 Ebm7 Ab7 Db6 "
        "Cm7 F7 Cm7 F7 Fm7 Bb7 Fm7 Bb7 Bbm7 Eb7 Ebm7 Ab7"
    ),
    "modal, minor thirds": "Am7 Am7 Cm7 Cm7 Ebm7 Ebm7 Gbm7 Gbm7 Am7",
    "modal pair, major a half step up": "Emaj7 Emaj7 Fmaj7 Fmaj7 Emaj7 Emaj7 Fmaj7 Emaj7",
    "ii-V in major thirds": "Am7 D7 Gmaj7 Bb7 Ebmaj7 F#7 Bmaj7 Fm7 Bb7 Ebmaj7 C#m7 F#7 Bmaj7",
    "bossa-like, falling basses": (
        "Am6 Ab7 Gm7 C7(b9) Fmaj7 Bbmaj7 Bm7b5 E7(b9) Am6 D7 Dm7 G7 Cmaj7 Bm7b5 E7alt Am6"
    ),
    "bossa-like, i and bII": "Cm6 Cm6 Db7 Db7 Cm6 C7(b9) Fm7 Bb7 Ebmaj7 Abmaj7 Dm7b5 G7alt Cm6",
    "ballad, line through tonic minor": (
        "Gm GmMaj7 Gm7 Gm6 Cm7 F7 Bbmaj7 Ebmaj7 Am7b5 D7alt Gm GmMaj7 Gm7 C7 Cm7 F7 Bb6 D7(b9)"
    ),
    "ballad, IV and iv": (
        "Abmaj7 Dbmaj7 Dbm6 Abmaj7 Bbm7 Bdim7 Cm7 F7alt Bbm7 Eb7sus Eb7 Abmaj7 Gb7 Abmaj7"
    ),
    "turnarounds, far": "Cmaj7 Eb7 Abmaj7 Db7 Cmaj7 A7 Ab7 G7 Em7 Ebm7 Dm7 Db7 C6 A7alt D7 G7alt C6",
    "diminished up and down": (
        "Eb6 Edim7 Fm7 F#dim7 Gm7 Gbdim7 Fm7 Bb7 Eb6 Eb7 Abmaj7 Adim7 Eb6 C7alt F7 Bb7 Eb6"
    ),
    "diminished on the tonic": "F6 Fdim7 F6 F#dim7 Gm7 C7 Am7 Abdim7 Gm7 C7 F6 Bb7 F6",
    "cliche, minor rising": "Em Em6 Em7 Em6 Am7 D7 Gmaj7 Cmaj7 F#m7b5 B7(b9) Em Em6 EmMaj7 Em6",
    "cliche, major falling": "Bb Bbmaj7 Bb7 G7(b9) Cm7 Ebm6 Bb6 F7sus Bb Bbmaj7 Bb7 Ebmaj7 Ebm6 Bb",
    "back door, twice": "Cmaj7 Fm7 Bb7 Cmaj7 Gm7 C7 Fmaj7 Bb7 Em7 A7 Ab7 Dm7 G7 C6 Bb7 Cmaj7",
    "sus by whole steps": "D7sus C7sus Bb7sus C7sus D7sus D7sus E7sus D7sus",
    "sus and minor": "Gm7 C7sus C7sus Fmaj7 Ebmaj7 Ab7sus Ab7 Dbmaj7 Gm7 C7sus C7(b9) Fmaj7",
    "plagal, with the diminished": "F Bb F Dm7 G7 Bbm6 F F7 Bb Bdim7 F D7 G7 C7sus C7 F Bb F",
    "minor with a major bridge": (
        "Fm6 Db7 C7alt Fm6 Bbm7 Eb7 Abmaj7 Dbmaj7 Gm7b5 C7(b9) Fm6 Bbm6 Fm6 Abmaj7 Bbm7 Eb7 Abmaj7"
    ),
    "cycle of dominants to the tonic": "F#7 B7 E7 A7 D7 G7 C7 F7 Bbmaj7 Bb6",
    "substitutes in a row": "Fm7 E7 Ebmaj7 Bbm7 A7 Abmaj7 Abm7 Db7 Gm7 Gb7 Fm7 E7 Eb6 Eb6",
    "I7 and IV7 vamp": "A7 D7 A7 D7 A7 E7 D7 A7 D7 A7",
}
