"""Changes out of a MusicXML score: the chord symbols over its bars, repeats played out.

Read are ``harmony`` elements of the part that has most of them, at the beat that they stand nearest
to (an "and" of four belongs to the next bar); a bar without one holds the chord before. Repeats,
their ``times``, first and second endings are followed; jumps (D.C., D.S., coda) are refused.
A runner-up reading (type "alternate"), as our own scores have it, is passed over. Scores come
as partwise text or packed (``.mxl``).

Source: MusicXML 4.0, W3C Community Group.
"""

import io
import math
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.etree import ElementTree as Et

from stackline.shared.complaint import Complaint
from stackline.shared.harmony import ChordSymbol
from stackline.theory.chords.chord_grammar import SpellingError
from stackline.theory.chords.harmony_xml import read_harmony
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.sheet.changes import COMPOUND, Changes, ChangesBar

LARGEST = 32 * 2**20  # bytes of a score, unpacked
MOST_BARS = 1000
MOST_TIMES = 16  # that a passage is repeated (ours)
JUMPS = ("dacapo", "dalsegno", "tocoda")
PLAIN_SIGNS = str.maketrans({"\u266d": "b", "\u266f": "#", "\u00f8": "m7b5", "\u0394": "maj7"})


@dataclass(frozen=True, kw_only=True)
class _Measure:
    """A written bar. chords: beat from 0, and chord. endings: the passes it is played in, all
    where empty; closes: how often the repeat that ends here is played, 0 where none does.
    """

    number: str
    beats: int
    is_pickup: bool
    chords: tuple[tuple[int, ChordSymbol | None], ...]
    opens: bool
    closes: int
    endings: frozenset[int]


def changes_of_score(data: bytes) -> Changes:
    """The changes of a score; raises Complaint for one without chord symbols, or unreadable."""
    root = _parsed(_unpacked(data))
    part = max(root.findall("part"), key=lambda one: len(list(one.iter("harmony"))), default=None)
    if part is None or part.find(".//harmony") is None:
        raise Complaint(
            "the score has no chord symbols; give one with chords over its bars, or type them: "
            '--changes "Dm9 | G13(b9) | C6/9"'
        )
    measures = list(_measures(part))
    time = part.find("measure/attributes/time")
    played = _played(measures)
    if len(played) > MOST_BARS:
        raise Complaint(f"the score has more than {MOST_BARS} bars; give one form of the tune")
    pickup = measures[0] if measures and measures[0].is_pickup else None
    return Changes(
        bars=tuple(_bars(played[1:] if pickup else played)),
        meter=_meter(time),
        pickup=next(_bars([pickup]), None) if pickup and pickup.chords else None,
    )


def _unpacked(data: bytes) -> bytes:
    """The score of a packed file, or the bytes themselves."""
    if not data.startswith(b"PK"):
        return data
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            names = [one for one in packed.infolist()
                     if one.filename.endswith((".musicxml", ".xml"))
                     and not one.filename.startswith("META-INF")]  # fmt: skip
            if not names or names[0].file_size > LARGEST:
                raise Complaint(
                    "the packed score holds no MusicXML of a usual size; export it anew"
                )
            return packed.read(names[0])
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError) as error:
        raise Complaint(f"the packed score cannot be opened ({error}); export it anew") from error


def _parsed(data: bytes) -> Et.Element:
    if b"<!ENTITY" in data:
        raise Complaint(
            "the score defines entities, which no notation editor writes; export it anew"
        )
    try:
        root = Et.fromstring(data)
    except Et.ParseError as error:
        raise Complaint(f"the score is no whole XML ({error}); export it anew") from error
    if root.tag != "score-partwise":
        raise Complaint(
            f"the score begins with <{root.tag}>; export it as MusicXML, partwise, as editors do"
        )
    return root


def _measures(part: Et.Element) -> Iterator[_Measure]:
    """The written bars in order."""
    divisions, beats, unit = 1, 4, 4  # what is in force
    endings: frozenset[int] = frozenset()
    carried: tuple[tuple[int, ChordSymbol | None], ...] = ()
    for index, measure in enumerate(part.findall("measure")):
        _refuse_jumps(measure)
        divisions = int(measure.findtext("attributes/divisions") or divisions)
        time = measure.find("attributes/time")
        if time is not None and (time.findtext("beats") or "").isdecimal():
            beats, unit = int(time.findtext("beats", "4")), int(time.findtext("beat-type", "4"))
        felt = 3 if unit == 8 and beats in COMPOUND else 1
        chords, length = _chords(measure, Fraction(max(divisions, 1) * 4 * felt, unit))
        opening = _started(measure)
        endings = opening or endings
        implicit = measure.get("implicit") == "yes" and index == 0
        full = beats // felt
        count = max(1, min(full, math.ceil(length))) if implicit else full
        inside = {at: chord for at, chord in (*carried, *chords) if at < count}
        carried = tuple((0, chord) for at, chord in chords if at >= count)[-1:]
        yield _Measure(
            number=measure.get("number", str(index + 1)), beats=count,
            is_pickup=implicit and count < full, chords=tuple(sorted(inside.items())),
            opens=measure.find("barline/repeat[@direction='forward']") is not None,
            closes=_times(measure), endings=endings,
        )  # fmt: skip
        if _stopped(measure):
            endings = frozenset()


def _refuse_jumps(measure: Et.Element) -> None:
    for sound in measure.iter("sound"):
        for jump in JUMPS:
            if sound.get(jump):
                raise Complaint(
                    f"bar {measure.get('number')} of the score has a jump ({jump}), which is not "
                    "followed; write the form out, or give it as text with repeats"
                )


def _started(measure: Et.Element) -> frozenset[int]:
    numbers = [one.get("number", "") for one in measure.findall("barline/ending[@type='start']")]
    words = " ".join(numbers).replace(",", " ").replace(".", " ").split()
    return frozenset(int(word) for word in words if word.isdecimal())


def _stopped(measure: Et.Element) -> bool:
    return any(one.get("type") in ("stop", "discontinue")
               for one in measure.findall("barline/ending"))  # fmt: skip


def _times(measure: Et.Element) -> int:
    repeat = measure.find("barline/repeat[@direction='backward']")
    if repeat is None:
        return 0
    times = repeat.get("times", "2")
    return min(max(int(times), 2), MOST_TIMES) if times.isdecimal() else 2


def _chords(
    measure: Et.Element, beat: Fraction
) -> tuple[list[tuple[int, ChordSymbol | None]], Fraction]:
    """The chords of a bar at their beats from 0, and how many beats are written in it."""
    found: list[tuple[int, ChordSymbol | None]] = []
    at = longest = Fraction(0)
    for one in measure:
        if one.tag == "harmony" and one.get("type") != "alternate":
            place = at + Fraction(one.findtext("offset") or 0)
            found.append((math.floor(place / beat + Fraction(1, 2)), _chord(one, measure)))
        elif one.tag == "forward" or _goes_on(one):
            at += Fraction(one.findtext("duration") or 0)
        elif one.tag == "backup":
            at -= Fraction(one.findtext("duration") or 0)
        longest = max(longest, at)
    return found, longest / beat


def _goes_on(one: Et.Element) -> bool:
    """Whether an element is a note or rest that takes time of its own."""
    return one.tag == "note" and one.find("chord") is None and one.find("grace") is None


def _chord(harmony: Et.Element, measure: Et.Element) -> ChordSymbol | None:
    if harmony.findtext("kind") == "none":
        return None
    try:
        return read_harmony(harmony)
    except (Complaint, ValueError):
        kind = harmony.find("kind")
        root = harmony.findtext("root/root-step", "")
        alter = harmony.findtext("root/root-alter", "0")
        sign = {"1": "#", "-1": "b"}.get(alter, "")
        text = root + sign + (kind.get("text", "") if kind is not None else "")
    try:
        return parse_symbol(text.translate(PLAIN_SIGNS))
    except (SpellingError, Complaint, ValueError) as error:
        raise Complaint(
            f"bar {measure.get('number')} of the score: the chord {text!r} cannot be read; "
            "write it as docs/changes.md shows"
        ) from error


def _meter(time: Et.Element | None) -> tuple[int, int] | None:
    if time is None:
        return None
    above, below = time.findtext("beats", ""), time.findtext("beat-type", "")
    return (int(above), int(below)) if above.isdecimal() and below.isdecimal() else None


def _played(measures: Sequence[_Measure]) -> list[_Measure]:
    """The bars in the order in which they are played."""
    found: list[_Measure] = []
    start, at, turn = 0, 0, 1
    while at < len(measures) and len(found) <= MOST_BARS:
        one = measures[at]
        if one.opens and at != start:
            start, turn = at, 1
        if one.endings and turn not in one.endings:
            at += 1
            continue
        found.append(one)
        if one.closes and turn < max(one.closes, _last_ending(measures, at)):
            at, turn = start, turn + 1
            continue
        at += 1
        if one.closes or (one.endings and (at == len(measures) or not measures[at].endings)):
            start, turn = at, 1
    return found


def _last_ending(measures: Sequence[_Measure], at: int) -> int:
    """The highest number of the endings that stand together here; 0 where none does."""
    last = 0
    while at < len(measures) and measures[at].endings:
        last = max(last, *measures[at].endings)
        at += 1
    return min(last, MOST_TIMES)


def _bars(measures: Sequence[_Measure]) -> Iterator[ChangesBar]:
    """Bars with their chords and beats; what is left empty holds the chord before."""
    before: ChordSymbol | None = None
    for one in measures:
        placed = list(one.chords)
        if not placed or placed[0][0] > 0:
            placed.insert(0, (0, before))
        ends = [at for at, _ in placed[1:]] + [one.beats]
        before = placed[-1][1]
        yield ChangesBar(
            chords=tuple(chord for _, chord in placed),
            beats=tuple(end - at for (at, _), end in zip(placed, ends, strict=True)),
        )
