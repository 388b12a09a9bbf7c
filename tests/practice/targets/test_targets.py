"""Targets: written, read, placed and found again."""

import re
import tempfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from stackline.cli import commands
from stackline.practice.targets.find_target import find_target
from stackline.practice.targets.numerals import key_name, read_key
from stackline.practice.targets.stack import read_stack, stack_text
from stackline.practice.targets.target_file import (
    built_in,
    parse_set,
    print_set,
    read_set,
    readable_in,
    save_target,
)
from stackline.practice.targets.target_from_take import target_from_take
from stackline.practice.targets.target_remarks import remarks
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target, TargetChord
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Degree
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.chords.qualities import QUALITIES
from stackline.theory.chords.roman import in_key
from stackline.theory.chords.spelling import pitch_class_of
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of


@pytest.mark.parametrize("target", built_in(), ids=lambda one: one.name)
def test_every_built_in_stack_belongs_to_its_chord(target: Target) -> None:
    """No row asks for a note that its own chord symbol does not have, and each has a source."""
    assert target.source
    for chord in target.chords:
        has = {pitch_class(degree) for degree in chord.row.degrees}
        assert {pitch_class(degree) for degree in chord.degrees} <= has, chord


@pytest.mark.parametrize("target", built_in(), ids=lambda one: one.name)
def test_every_built_in_target_lies_on_the_keys_in_all_keys(target: Target) -> None:
    """Nothing in the built-in set is unreachable, muddy in every octave, or strange."""
    assert [words for words in remarks(target) if "no two hands" in words] == []
    assert [words for words in remarks(target) if "has no" in words] == []


def test_every_built_in_target_names_a_source_that_can_be_read() -> None:
    """A page or "common practice": no tag that only the code knows, no package of code."""
    for target in built_in():
        assert target.source
        assert not re.search(r"[\[\]@]|[a-z]+js\b", target.source), target.source
        assert "." in target.source or "common practice" in target.source or " " in target.source


def test_the_built_in_set_prints_and_reads_back() -> None:
    """Writing a set and reading it gives the same targets."""
    assert parse_set(print_set(built_in()), "printed") == built_in()


stacks = st.lists(
    st.sampled_from(["R", "3", "5", "b7", "9", "13", "b9", "3'", "9''"]), min_size=1, max_size=5
).map(lambda words: read_stack(" ".join(words)))
chords = st.builds(
    TargetChord,
    offset=st.integers(0, 11),
    quality=st.sampled_from([row.key for row in QUALITIES if row.family == "dominant"]),
    beats=st.sampled_from([Fraction(n) for n in (1, 2, 3, 4, 6, 8)]),
    stack=st.just(()),
)


@st.composite
def targets(draw: st.DrawFn) -> Target:
    """Any target whose neighbouring chords differ (equal ones are one longer chord)."""
    rows = draw(st.lists(chords, min_size=1, max_size=6))
    kept = [rows[0]]
    for row in rows[1:]:
        if (row.offset, row.quality) != (kept[-1].offset, kept[-1].quality):
            kept.append(row)
    voiced = draw(st.booleans())
    made = tuple(
        TargetChord(offset=one.offset, quality=one.quality, beats=one.beats,
                    stack=draw(stacks) if voiced else ())
        for one in kept
    )  # fmt: skip
    name = draw(st.text(min_size=1, max_size=20).filter(lambda text: text.strip() == text != ""))
    tempo = draw(st.none() | st.integers(30, 400).map(float))
    return Target(name=name, chords=made, tempo_bpm=tempo, source=draw(st.text(max_size=9)))


@given(targets())
def test_printing_and_reading_a_target_is_the_identity(target: Target) -> None:
    """Names with quotes and signs, tempos, stacks and lengths in beats all come back."""
    assert parse_set(print_set([target]), "printed") == (target,)


def test_numerals_mean_chords_of_the_key() -> None:
    """II, V and I of Eb and a raised IV of C (common practice)."""
    assert in_key("IIm9", "Eb").text == "Fm9"
    assert in_key("V13(b9)", "Eb").text == "Bb13(b9)"
    assert in_key("bII7", "C").text == "Db7"
    assert in_key("#IVdim7", "C").text == "F#dim7"
    assert in_key("ii7", "G").text == "Am7"
    assert in_key("viio7", "C").text == "Bdim7"


@pytest.mark.parametrize("key", range(12))
def test_a_target_means_the_same_in_every_key(key: int) -> None:
    """The root of each chord stands as far above the tonic in every key, and is spelled."""
    for target in built_in():
        for chord in target.chords:
            assert (pitch_class_of(chord.symbol(key).root) - key) % 12 == chord.offset
        assert read_key(key_name(key)) == key


def test_chords_symbols_and_numerals_are_the_same_target() -> None:
    """The key of chord symbols follows from the last chord."""
    symbols = parse_target("Dm9 | G13(b9) | C6/9")
    numerals = parse_target("IIm9 | V13(b9) | I6/9")
    assert symbols.chords == numerals.chords
    assert parse_target("Dm9 | G13(b9)").chords == numerals.chords[:2]
    assert parse_target("Fm9 | Bb13(b9) | Eb6/9").chords == numerals.chords


def test_stacks_alone_are_read_as_the_circle_of_fifths() -> None:
    """`b7 9 3 13 > 3 5 7 9` is V13 to Imaj9 (common practice)."""
    target = parse_target("b7 9 3 13 > 3 5 7 9")
    assert [chord.name() for chord in target.chords] == ["V13", "Imaj9"]
    assert [chord.name() for chord in parse_target("b3 5 b7 9 > b7 9 3 13").chords] == [
        "IIm9", "V13",
    ]  # fmt: skip


def test_voicings_follow_each_other_with_least_movement() -> None:
    """F A C E, F Ab B E, E G A D: how a ii-V-I from the 3rd lies (common practice)."""
    places = parse_target(TARGET_TEXT).places
    assert tuple(tuple(p + 48 for p in row) for row in places) == TWO_FIVE


def test_lengths_come_from_the_bars() -> None:
    """Chords share a bar; % lengthens the chord before."""
    target = parse_target("IIm7 V7 | Imaj7 | %")
    assert [chord.beats for chord in target.chords] == [2, 2, 8]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("IIm9 | G13", "cannot read 'G13': it stands among numerals"),
        ("b7 9 3 13 >", "a stack is empty"),
        ("b7 9 x 13 > 3 5", "'x' is no degree"),
        ("V13: b7 9 > 3 5", "name all, or none"),
        ("3 b3 > 3 5 7", "no chord of the table has the degrees 3 b3"),
        ("IIm99 | V", "after the numeral in 'IIm99'"),
        ("Dm9 | G31", "cannot read the chord 'G31'"),
        ("N.C.", "no chords"),
    ],
)
def test_what_cannot_be_read_is_told_in_a_sentence(text: str, sentence: str) -> None:
    """The word at fault is named."""
    with pytest.raises(Complaint, match=sentence.replace("(", r"\(")):
        parse_target(text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("format = 2", "format is 2"),
        ("format = 1", "holds no targets"),
        ("format = 1\ncolour = 3\n[[target]]\nname='a'\nchords='V7'", "unknown field 'colour'"),
        ("format = 1\n[[target]]\nname='a'\nchords='V7'\nkeys=1", "unknown field 'keys'"),
        ("format = 1\n[[target]]\nname='a'", "'chords' is missing"),
        ("format = 1\n[[target]]\nname='a'\nchords='V7'\ntempo_bpm=5", "allowed are 30 to 400"),
        ("format = 1\n[[target]]\nname='a'\nchords='V7'\nstacks=['3','5']", "2 stacks for 1"),
        ("format = 1\n[[target]]\nname='a'\nchords='V7'\n[[target]]\nname='A'\nchords='V7'",
         "two targets are called"),
        ("format = ", "not TOML"),
        ("format = 1\n[[target]]\nname='a'\nchords='V7'\nbeats=['1e9999999']", "expected beats"),
        (f"format = {'9' * 5000}", "a number is too long"),
        (f"format = 1\na = {'[' * 100_000}", "nested too deep"),
    ],
)  # fmt: skip
def test_a_faulty_set_is_told_in_a_sentence(text: str, sentence: str) -> None:
    """File, target and field are named."""
    with pytest.raises(Complaint, match=sentence) as caught:
        parse_set(text, "my-set.toml")
    assert "my-set.toml" in str(caught.value)


def test_saving_replaces_the_target_of_that_name(tmp_path: Path) -> None:
    """A set grows by one, and a second save of a name changes that one."""
    path = tmp_path / "deep" / "own.toml"
    first, second = parse_target("V7 | Imaj7", name="a"), parse_target("V9 | I6", name="b")
    save_target(path, first)
    save_target(path, second)
    save_target(path, parse_target("V13 | I6", name="A"))
    assert [(one.name, one.chords[0].quality) for one in read_set(path)] == [
        ("A", "13"),
        ("b", "9"),
    ]


OWN_SET = """\
# what I practise
format = 1  # never changes

# --- Monday ---
[[target]]        # first of all
name = "shells"
chords = "V7 | Imaj7"   # slowly
# my teacher said so
tempo_bpm = 80
top = "3 7"

# --- Tuesday ---
[[target]]
name = "other"
chords = "V9 | I6"
stacks = [
    "3 b7 9",   # left hand alone
    "3 6 9",
]
# the end"""


def test_a_players_own_remarks_survive_a_save(tmp_path: Path) -> None:
    """Every remark stays where it was, and so does what was not saved; changed and new fields."""
    path = tmp_path / "own.toml"
    path.write_text(OWN_SET, encoding="utf-8")
    save_target(path, replace(parse_target("V13: 3 13 > I6: 3 6", name="Shells"), tempo_bpm=92.0))
    save_target(path, parse_target("V7 | Im6", name="third"))
    text = path.read_text(encoding="utf-8")
    assert (
        text
        == OWN_SET.replace('"shells"', '"Shells"')
        .replace("V7 | Imaj7", "V13 | I6")
        .replace(
            'tempo_bpm = 80\ntop = "3 7"\n',
            'tempo_bpm = 92\nstacks = ["3 13", "3 6"]\nsource = "own"\n',
        )
        + '\n\n[[target]]\nname = "third"\nchords = "V7 | Im6"\nsource = "own"\n'
    )
    assert [one.name for one in read_set(path)] == ["Shells", "other", "third"]


@pytest.mark.parametrize(
    "text",
    [
        'format = 1\ntarget = [{name = "a", chords = "V7 | I6"}, {name = "b", chords = "V9 | I6"}]',
        'target = [{name = "b", chords = "V7 | I6"}]\nformat = 1',
        'format = 1\r\n[[target]]\r\n"name" = """b"""\r\n\'chords\' = \'V7 | I6\'',
        'format=1\n[[target]]\nname=" a "\nchords="V7 | I6"\n[[target]]\nname="c"\nchords="V9"',
    ],
    ids=["array", "array first", "quoted", "tight"],
)
def test_a_set_in_any_form_of_toml_can_be_saved_to(text: str, tmp_path: Path) -> None:
    """TOML 1.0 writes the same rows in many ways; all of them grow and change."""
    path = tmp_path / "own.toml"
    path.write_bytes(text.encode("utf-8"))
    before = {one.name: one for one in read_set(path)}
    for target in (parse_target("V13: 3 13 > I6: 3 6", name="a"), parse_target("V7", name="n")):
        save_target(path, replace(target, tempo_bpm=92.5))
        before[target.name] = replace(target, tempo_bpm=92.5)
    assert {one.name: one for one in read_set(path)} == before


@given(targets(), targets())
@settings(deadline=None, max_examples=60)
def test_a_saved_target_reads_back_the_same(first: Target, second: Target) -> None:
    """Whatever it holds and whatever is there already, under names that a list can show."""
    first, second = (
        replace(one, name=" ".join("".join(filter(str.isprintable, one.name)).split()) or "x")
        for one in (first, second)
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "own.toml"
        save_target(path, first)
        save_target(path, second)
        kept = [one for one in (first,) if one.name.casefold() != second.name.casefold()]
        assert list(read_set(path)) == [*kept, second]


@pytest.mark.parametrize("name", ["", "   ", "\x00", "a\u202eb", "n" * 201])
def test_a_name_that_no_set_can_hold_is_refused_and_the_set_stays(
    tmp_path: Path, name: str
) -> None:
    """Empty, invisible, turned around, too long: nothing is written."""
    path = tmp_path / "own.toml"
    save_target(path, parse_target("V7 | Imaj7", name="a"))
    before = path.read_bytes()
    with pytest.raises(Complaint, match="the name"):
        save_target(path, parse_target("V7 | I6", name=name))
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "name", ['"', "\\", "a\tb", " a  b ", "[[target]]", "#", "caf\u00e9 \u266d"]
)
def test_odd_names_read_back(tmp_path: Path, name: str) -> None:
    """What TOML writes with escapes; blanks are put in order."""
    path = tmp_path / "own.toml"
    save_target(path, parse_target("V7 | I6", name=name))
    assert [one.name for one in read_set(path)] == [" ".join(name.split())]


def test_a_set_with_a_bad_entry_gives_the_others(tmp_path: Path) -> None:
    """The bad ones are told, each with its place."""
    path = tmp_path / "own.toml"
    rows = ("name='a'\nchords='V7'", "name='b'\nchords='H7'", "name='c'", "name='A'\nchords='I6'",
            "name='d'\nchords='I6'")  # fmt: skip
    path.write_text("format = 1\n" + "".join(f"[[target]]\n{row}\n" for row in rows))
    found, faults = readable_in(path)
    assert [one.name for one in found] == ["a", "d"]
    assert ["target 2" in faults[0], "target 3" in faults[1], "target 4" in faults[2]] == [True] * 3


def test_a_target_is_found_by_a_part_of_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Own targets come first; files may be named; near names are offered."""
    monkeypatch.setenv("STACKLINE_HOME", str(tmp_path))
    save_target(tmp_path / "targets.toml", parse_target("V7 | I6", name="my own thing"))
    assert find_target("own thing").name == "my own thing"
    assert find_target("shells").name == "major ii-V-I, shells"
    assert find_target(str(tmp_path / "targets.toml")).name == "my own thing"
    assert find_target(f"{tmp_path / 'targets.toml'}:my own thing").chords[0].quality == "7"
    with pytest.raises(Complaint, match=r"part of \d+ names"):
        find_target("major ii-V-I")
    with pytest.raises(Complaint, match="'my own thing'"):
        find_target("my own thong")


def test_a_voicing_found_in_a_take_can_be_saved_as_a_target() -> None:
    """The stretch of a take becomes degrees of the key of its last chord, spacing kept."""
    take = take_of(played(*TWO_FIVE, up=3, every_s=2.0))
    target = target_from_take(take)
    assert [stack_text(chord.stack) for chord in target.chords] == [
        "b3 5 b7 9", "b7 b9 3 13", "3 5 6 9",
    ]  # fmt: skip
    assert target.symbols(3) == ("Fm9", "Bb13(b9)", "Eb6/9")
    wide = take_of([(0.5, (48, 64, 71, 74))])
    assert str(target_from_take(wide).chords[0].stack[1]) == "3'"
    with pytest.raises(Complaint, match="no voicing lies between 50 and 60 s"):
        target_from_take(take, from_s=50, to_s=60)


def test_the_command_lists_shows_and_checks(tmp_path: Path) -> None:
    """List, show in a key, check a file with a strange row, save."""
    run = CliRunner(env={"STACKLINE_HOME": str(tmp_path)}).invoke
    assert "minor ii-V-I, from the 3rd" in run(commands, ["targets"]).output
    shown = run(commands, ["targets", "show", "minor ii-V-I, from the 3rd", "--key", "G"]).output
    assert "Am7b5" in shown
    assert "rootless" in shown
    path = tmp_path / "set.toml"
    path.write_text('format = 1\n[[target]]\nname = "odd"\nchords = "V7"\nstacks = ["3 b7 13"]\n')
    checked = run(commands, ["targets", "check", str(path)]).output
    assert "V7: the chord has no 13" in checked
    assert "1 target, all readable" in checked
    saved = run(commands, ["targets", "save", "mine", "--changes", TARGET_TEXT])
    assert saved.exit_code == 0, saved.output
    assert "mine" in run(commands, ["targets"]).output


def test_degrees_in_stacks_are_trade_names() -> None:
    """Every degree in the built-in set is one that `Degree` prints."""
    degrees = {one for target in built_in() for chord in target.chords for one in chord.degrees}
    assert {Degree.parse(str(degree)) for degree in degrees} == degrees


def test_a_target_without_end_is_refused() -> None:
    """Thousands of chords would be looked for, or written out in twelve keys, for hours."""
    for text in (" | ".join(["Dm7 | G7"] * 200), " > ".join(["3 5 7 9"] * 300)):
        with pytest.raises(Complaint, match="chords: give up to 256"):
            parse_target(text)
    with pytest.raises(Complaint, match="the changes have 1200 bars; give a form of up to 1000"):
        parse_target(" | ".join(["Dm7 | G7"] * 600))
    with pytest.raises(Complaint, match="letters; give a form of up to"):
        parse_target(" | ".join(["Dm7 | G7"] * 9000))
