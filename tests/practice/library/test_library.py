"""The library: takes kept once and whole, found again, put right, and safe against anything."""

import json
import multiprocessing
import os
import random
import signal
import sqlite3
import time
import zlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from stackline.cli import commands
from stackline.practice.library.backup import Exported, back_up, export, restore
from stackline.practice.library.corrections import Correction, lay_over
from stackline.practice.library.kept_take import pack, unpack
from stackline.practice.library.library import Library
from stackline.practice.library.schema import STEPS
from stackline.practice.library.searching import Query, search
from stackline.practice.library.store import Store
from stackline.practice.targets.target_text import parse_target
from stackline.shared.codec.codec_read import from_data
from stackline.shared.codec.codec_write import to_json
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from stackline.theory.chords.note_names import read_notes
from stackline.theory.chords.spelling import pitch_class_of
from tests.support.older_library import take_back
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, played, take_of
from tests.support.takes.sample_take import empty_take, sample_take
from tests.support.takes.take_strategies import takes

II, V, I = TWO_FIVE  # noqa: E741
TARGET = parse_target(TARGET_TEXT, name="study")


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """An empty library in a file of its own."""
    with Library(tmp_path / "home" / "library.db") as kept:
        yield kept


def study(number: int = 0, *, up: int = 0) -> Take:
    """A ii-V-I as a take of its own."""
    rows = played(II, V, I, up=up)
    return take_of(rows, name=f"study-{number}.wav", sha256=f"{number:064x}")


@given(takes())
@settings(max_examples=40, deadline=None)
def test_packing_a_take_is_lossless(take: Take) -> None:
    """What is kept is what was heard, for any take that the types allow."""
    assert unpack(pack(take)) == take


def test_a_take_comes_back_as_it_went_in(library: Library) -> None:
    """Facts, voicings, motion and provenance, all of it."""
    take = sample_take()
    added = library.add(take, played_on="2026-03-09", note="first try")
    assert added.outcome == "added"
    assert library.take(added.id) == take
    entry = library.entry(added.id)
    assert (entry.played_on, entry.note, entry.n_voicings) == ("2026-03-09", "first try", 6)
    assert library.entries() == [entry]


def test_the_same_audio_twice_is_one_take(library: Library) -> None:
    """Equal sha256 is equal audio, whatever the file is called now."""
    first = library.add(study(1))
    again = library.add(study(1))
    assert (again.id, again.outcome) == (first.id, "already there")
    assert len(library.entries()) == 1


def test_a_newer_analysis_keeps_corrections_date_and_note(library: Library) -> None:
    """The chord and the notes that the player put right outlive another ear."""
    take = study(1)
    added = library.add(take, played_on="2026-01-05", note="keep me")
    library.correct(added.id, Correction(onset_s=1.5, symbol="Db7(#9,b13)"))
    library.correct(added.id, Correction(onset_s=2.5, pitches=(52, 57, 62, 67)))
    shifted = [(at + 0.02, row) for at, row in played((53, 57, 60, 65), V, (51, 55, 57, 62))]
    newer = replace(take_of(shifted, sha256=take.source.sha256), ear="a newer ear 2")
    again = library.add(newer)
    assert (again.id, again.outcome, again.unplaced) == (added.id, "analysed again", ())
    now = library.take(added.id)
    assert now.ear == "a newer ear 2"
    assert now.voicings[0].pitches == (53, 57, 60, 65)
    assert now.voicings[1].chord.symbol.text == "Db7(#9,b13)"
    assert now.voicings[2].pitches == (52, 57, 62, 67)
    assert library.entry(added.id).note == "keep me"
    assert library.entry(added.id).played_on == "2026-01-05"
    assert library.heard(added.id) == newer


def test_a_correction_renames_degrees_and_motion() -> None:
    """F Ab B E over Db: 3 5 b7 #9 (common practice); theory makes all that follows anew."""
    corrected = lay_over(study(), [Correction(onset_s=1.5, symbol="Db7(#9)")])
    middle = corrected.take.voicings[1]
    assert [str(degree) for degree in middle.stack] == ["3", "5", "b7", "#9"]
    assert middle.chord.confidence == 1.0
    assert corrected.places == (1,)
    assert from_data(json.loads(to_json(corrected.take))) == corrected.take


def test_corrected_notes_are_facts_of_the_take() -> None:
    """Notes, attacks and voicing agree after a correction, and the codec accepts it."""
    corrected = lay_over(study(), [Correction(onset_s=0.5, pitches=(53, 57, 60, 64, 67))])
    take = corrected.take
    assert take.voicings[0].pitches == (53, 57, 60, 64, 67)
    struck = sorted((n.onset_s, n.midi) for attack in take.attacks for n in attack.struck)
    assert struck == [(note.onset_s, note.midi) for note in take.notes]
    assert from_data(json.loads(to_json(take))) == take


@given(st.lists(st.floats(0, 5), max_size=3), st.sampled_from(["G7", "Db9", None]))
@settings(max_examples=40, deadline=None)
def test_corrections_anywhere_leave_a_sound_take(at: list[float], symbol: str | None) -> None:
    """Corrections that find a voicing or none give a take that can be written and read."""
    given_ = [Correction(onset_s=one, symbol=symbol, pitches=(50, 60, 65)) for one in at]
    corrected = lay_over(study(), given_)
    assert from_data(json.loads(to_json(corrected.take))) == corrected.take
    assert len(corrected.unplaced) <= len(given_)


def test_a_correction_must_hit_a_voicing(library: Library) -> None:
    """Nothing begins at nine seconds, and nothing is kept of it."""
    added = library.add(study())
    with pytest.raises(Complaint, match="no voicing of take 1 begins within"):
        library.correct(added.id, Correction(onset_s=9.0, symbol="G7"))
    with pytest.raises(Complaint, match="cannot read the chord"):
        library.correct(added.id, Correction(onset_s=0.5, symbol="G77"))
    assert library.corrections(added.id) == ()


def test_searching_finds_what_is_there_and_nothing_else(library: Library) -> None:
    """Every search equals a plain walk over all voicings of all takes."""
    for number in range(12):
        library.add(study(number, up=number))
    library.add(sample_take())
    every = [
        (entry.id, place, voicing, take)
        for entry in library.entries()
        for take in [library.take(entry.id)]
        for place, voicing in enumerate(take.voicings)
    ]

    def walk(test: object) -> set[tuple[int, int]]:
        return {(number, place) for number, place, one, take in every if test(one, place, take)}  # type: ignore[operator]

    def hits(query: Query) -> set[tuple[int, int]]:
        found = search(library.store, query, limit=1000)
        assert found.voicings == len(found.hits)
        assert found.takes == len({hit.take_id for hit in found.hits})
        return {(hit.take_id, hit.place) for hit in found.hits}

    stacks = {" ".join(map(str, one.stack)) for _, _, one, _ in every}
    for stack in stacks:
        wanted = walk(lambda v, p, t, stack=stack: " ".join(map(str, v.stack)) == stack)
        assert hits(Query(stack=stack)) == wanted
    for symbol in {one.chord.symbol.text for _, _, one, _ in every}:
        wanted = walk(lambda v, p, t, symbol=symbol: v.chord.symbol.text == symbol)
        assert hits(Query(chord=symbol)) == wanted
    for name in {name for _, _, one, _ in every for name in one.structures}:
        wanted = walk(lambda v, p, t, name=name: name in v.structures)
        assert hits(Query(structure=name)) == wanted
    wanted = walk(lambda v, p, t: any(m.to_index == p and m.top.semitones == -2 for m in t.motions))
    assert hits(Query(move="-2")) == wanted
    assert wanted
    both = hits(Query(stack="b3 5 b7 9", chord="m9"))
    assert both == hits(Query(stack="b3 5 b7 9")) & hits(Query(chord="m9"))
    assert both


def test_the_same_shape_is_found_in_every_key(library: Library) -> None:
    """One stack played in twelve keys is one shape."""
    for number in range(12):
        library.add(study(number, up=number))
    found = search(library.store, Query(like=(1, 0)))
    assert found.takes == 12
    roots = {pitch_class_of(library.take(hit.take_id).voicings[hit.place].chord.symbol.root)
             for hit in found.hits}  # fmt: skip
    assert roots == set(range(12))


def test_the_key_is_what_a_cadence_says(library: Library) -> None:
    """ii, V and I of one ii-V-I are all in its key."""
    library.add(study(1, up=3))
    found = search(library.store, Query(key="Eb"))
    assert {hit.place for hit in found.hits} == {0, 1, 2}
    assert search(library.store, Query(key="E")).voicings == 0


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        (Query(), "say what to look for"),
        (Query(structure="harp"), "no structure in the library"),
        (Query(chord="H7"), "cannot read the chord"),
        (Query(stack="3 x"), "'x' is no degree"),
        (Query(key="Z"), "no key is called 'Z'"),
        (Query(move="up"), "cannot read the move"),
        (Query(like=(7, 7)), "take 7 has no voicing 7"),
    ],
)
def test_a_query_that_cannot_be_read_is_told(library: Library, query: Query, sentence: str) -> None:
    """One sentence each."""
    library.add(study())
    with pytest.raises(Complaint, match=sentence):
        search(library.store, query)


def test_removing_takes_everything_with_it(library: Library) -> None:
    """No row of a removed take is left in any table."""
    added = library.add(study())
    library.correct(added.id, Correction(onset_s=0.5, symbol="Dm11"))
    library.keep_passes(added.id, TARGET)
    library.remove(added.id)
    for table in ("take", "voicing", "structure", "correction", "pass"):
        assert library.store.read(f"SELECT count(*) FROM {table}")[0][0] == 0, table
    with pytest.raises(Complaint, match="no take has the number 1"):
        library.remove(added.id)


def test_passes_follow_corrections_and_changed_targets(library: Library) -> None:
    """A wrong note put right makes the kept pass clean; a changed target reviews again."""
    take = take_of(played((53, 57, 61, 64), V, I), sha256="1" * 64)
    added = library.add(take)
    assert library.keep_passes(added.id, TARGET) == 1
    clean = "SELECT sum(clean) FROM pass"
    assert library.store.read(clean)[0][0] == 0
    library.correct(added.id, Correction(onset_s=0.5, pitches=II))
    assert library.store.read(clean)[0][0] == 1
    other = library.add(study(2))
    harder = parse_target(TARGET_TEXT.replace("3 5 6 9", "3 5 7 9").replace("I6/9", "Imaj9"))
    library.keep_passes(other.id, replace(harder, name="study"))
    assert library.store.read(clean)[0][0] == 0
    assert library.targets() == (replace(harder, name="study"),)


def test_backup_and_restore_bring_everything_back(library: Library, tmp_path: Path) -> None:
    """What was added, changed and removed after a backup is undone by restoring it."""
    for number in range(3):
        library.add(study(number))
    library.correct(1, Correction(onset_s=0.5, symbol="Dm11"))
    backup = tmp_path / "backup.db"
    assert back_up(library, backup) == 3
    assert sorted(tmp_path.glob("backup*")) == [backup]
    before = [library.take(entry.id) for entry in library.entries()]
    library.remove(2)
    library.add(study(9))
    assert restore(library, backup) == 3
    assert [library.take(entry.id) for entry in library.entries()] == before
    library.add(study(10))
    assert len(library.entries()) == 4


def test_restoring_what_is_no_backup_changes_nothing(library: Library, tmp_path: Path) -> None:
    """A text file, an empty file, another program's database, a cut-off backup."""
    library.add(study())
    backup = tmp_path / "good.db"
    back_up(library, backup)
    cut = tmp_path / "cut.db"
    cut.write_bytes(backup.read_bytes()[: 3 * 4096])
    text = tmp_path / "notes.txt"
    text.write_text("no database at all " * 400)
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE tunes (name)")
    connection.close()
    (tmp_path / "empty.db").touch()
    for path in (cut, text, other, tmp_path / "empty.db", tmp_path / "missing.db"):
        with pytest.raises(Complaint):
            restore(library, path)
        assert len(library.entries()) == 1, path


def test_export_is_json_with_every_take(library: Library, tmp_path: Path) -> None:
    """Takes in format 1, corrections, passes and targets, readable without this program."""
    library.add(sample_take())
    added = library.add(study(3))
    library.correct(added.id, Correction(onset_s=0.5, symbol="Dm11"))
    library.keep_passes(added.id, TARGET)
    path = tmp_path / "all.json"
    with path.open("w", encoding="utf-8") as out:
        assert export(library, out) == Exported(takes=2, damaged=())
    data = json.loads(path.read_text(encoding="utf-8"))
    assert [from_data(one["take"]) for one in data["takes"]] == [
        library.heard(one["id"]) for one in data["takes"]
    ]
    assert data["takes"][1]["corrections"][0]["symbol"] == "Dm11"
    assert data["takes"][1]["passes"][0]["clean"] == 1
    assert data["targets"][0]["name"] == "study"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda whole: whole[: len(whole) // 2],
        lambda whole: whole[:20] + bytes(20) + whole[40:],
        lambda _: b"",
        lambda _: zlib.compress(b"\xff\xfe"),
        lambda _: zlib.compress(b'{"format": 9}'),
    ],
    ids=["cut", "zeros", "empty", "no UTF-8", "format 9"],
)
def test_one_damaged_take_leaves_the_others(
    library: Library, tmp_path: Path, spoil: Callable[[bytes], bytes]
) -> None:
    """Listed, exported without it, told by its number; adding its recording again mends it."""
    bad, good = library.add(study(1)).id, library.add(study(2)).id
    library.keep_passes(bad, TARGET)
    whole = library.store.read("SELECT document FROM take WHERE id = ?", (bad,))[0][0]
    with library.store.write() as connection:
        connection.execute("UPDATE take SET document = ? WHERE id = ?", (spoil(whole), bad))
    path = tmp_path / "all.json"
    with path.open("w", encoding="utf-8") as out:
        found = export(library, out)
    assert found.takes == 1
    assert found.damaged[0].startswith(f"take {bad} (study-1.wav) is damaged in the library: ")
    assert [one["id"] for one in json.loads(path.read_text(encoding="utf-8"))["takes"]] == [good]
    assert len(library.entries()) == 2
    with pytest.raises(Complaint, match="is damaged in the library"):
        library.take(bad)
    changed = replace(TARGET, tempo_bpm=77.0)
    library.keep_passes(good, changed)  # passes of the bad one cannot be found again
    assert library.add(study(1)).outcome == "analysed again"
    assert library.heard(bad) == study(1)


def test_text_that_is_not_utf8_is_still_shown(library: Library) -> None:
    """A name with bad bytes, as another program or a bad disk leaves it."""
    library.add(study(1))
    with library.store.write() as connection:
        connection.execute("UPDATE take SET name = CAST(x'636166e9' AS TEXT)")
    assert library.entry(1).name == "caf\ufffd"


def test_an_older_library_is_led_up_step_by_step(tmp_path: Path) -> None:
    """A file with the first tables only keeps its takes and gains the rest."""
    path = tmp_path / "old.db"
    with Library(path) as kept:
        kept.add(study())
    take_back(path, 1)
    with Library(path) as kept:
        assert kept.store.version == len(STEPS)
        assert kept.take(1) == study()
        assert kept.keep_passes(1, TARGET) == 1


def test_a_newer_library_is_refused(tmp_path: Path) -> None:
    """Tables from the future are not touched."""
    path = tmp_path / "new.db"
    Library(path).close()
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    connection.close()
    with pytest.raises(Complaint, match="newer stackline"):
        Library(path)


def test_what_is_no_library_is_refused(tmp_path: Path) -> None:
    """A text file and a folder are told, not overwritten."""
    path = tmp_path / "letter.db"
    path.write_text("dear library " * 1000)
    with pytest.raises(Complaint, match="not a library of stackline"):
        Library(path)
    assert path.read_text().startswith("dear library")
    with pytest.raises(Complaint, match="cannot be used"):
        Library(tmp_path)


def _add_many(path: Path, first: int, count: int) -> None:
    with Library(path) as kept:
        for number in range(first, first + count):
            kept.add(study(number))


def test_two_programs_may_add_at_once(tmp_path: Path) -> None:
    """Four writers, started together on a file that does not exist yet, lose nothing."""
    path = tmp_path / "shared.db"
    fork = multiprocessing.get_context("fork")
    workers = [fork.Process(target=_add_many, args=(path, 100 * i, 12)) for i in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(120)
        assert worker.exitcode == 0
    with Library(path) as kept:
        assert len(kept.entries()) == 48
        kept.store.check()


def _add_until_killed(path: Path, first: int, told: int) -> None:
    """Add takes, and say of each that it is in, until the process is killed."""
    with Library(path) as kept:
        number = first
        while True:
            kept.add(study(number))
            os.write(told, number.to_bytes(4, "little"))
            number += 1


def test_kill_nine_in_the_middle_of_adding_loses_nothing(tmp_path: Path) -> None:
    """Sixty times: a take that was said to be in is in, and none is there by half."""
    path = tmp_path / "library.db"
    Library(path).close()
    fork = multiprocessing.get_context("fork")
    rng = random.Random(7)
    said: set[int] = set()
    interrupted = 0
    for turn in range(60):
        reader, writer = os.pipe()
        worker = fork.Process(target=_add_until_killed, args=(path, 1000 * turn, writer))
        worker.start()
        os.close(writer)
        first = os.read(reader, 4)  # it is at work
        time.sleep(rng.uniform(0.0, 0.03))
        worker.kill()
        worker.join(30)
        assert worker.exitcode == -signal.SIGKILL
        rest = first + os.read(reader, 1 << 16)
        os.close(reader)
        said |= {int.from_bytes(rest[i : i + 4], "little") for i in range(0, len(rest), 4)}
        interrupted += 1
    with Library(path) as kept:
        kept.store.check()
        kept_numbers = set()
        for entry in kept.entries():
            take = kept.take(entry.id)
            number = int(take.source.sha256, 16)
            kept_numbers.add(number)
            assert take == study(number)
            rows = kept.store.read("SELECT count(*) FROM voicing WHERE take_id = ?", (entry.id,))
            assert rows[0][0] == entry.n_voicings == len(take.voicings)
        orphans = kept.store.read(
            "SELECT count(*) FROM voicing WHERE take_id NOT IN (SELECT id FROM take)"
        )
        assert orphans[0][0] == 0
    assert interrupted == 60
    assert len(said) >= 60
    assert said <= kept_numbers
    assert len(kept_numbers) <= len(said) + 60  # at most the one under way each time


def test_a_failed_add_leaves_nothing(library: Library) -> None:
    """An exception inside the transaction undoes all of it."""
    library.add(study(1))

    def half() -> None:
        with library.store.write() as connection:
            connection.execute("UPDATE take SET note = 'half'")
            connection.execute("INSERT INTO pass (take_id, target) VALUES (99, 'none')")

    with pytest.raises(sqlite3.IntegrityError):
        half()
    assert library.entry(1).note == ""


def test_notes_are_read_by_name_or_number() -> None:
    """C4 is 60 (MIDI convention of this project); Cb4 is 59, B#3 is 60."""
    assert read_notes("C4 Eb4, F#4 Cb4 B#3") == (59, 60, 63, 66)
    assert read_notes("53 57") == (53, 57)
    for wrong in ("H4", "C", "9", "C9", ""):
        with pytest.raises(Complaint):
            read_notes(wrong)


def test_the_command_adds_lists_searches_corrects_and_removes(tmp_path: Path) -> None:
    """A player's way through the library; removal asks and takes no for an answer."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5)))
    runner = CliRunner(env={"STACKLINE_HOME": str(tmp_path / "home")})

    def say(*words: str, typed: str = "") -> str:
        result = runner.invoke(commands, ["library", *words], input=typed)
        return result.output + repr(result.exception or "")

    assert "added, take 1" in say("add", str(path), "--on", "2026-02-03")
    assert "already there" in say("add", str(path))
    assert "2026-02-03" in say("list")
    assert "1 voicing in 1 take" in say("search", "--stack", "b3 5 b7 9")
    assert "Dm11" in say("correct", "1", "--at", "0.5", "--chord", "Dm11")
    assert "corrected by you" in say("show", "1")
    assert "Abort" in say("remove", "1", typed="n\n")
    assert "study-5.wav" in say("list")
    assert "removed take 1" in say("remove", "1", typed="y\n")
    assert "the library is empty" in say("list")
    assert "is not a valid date" in say("add", str(path), "--on", "yesterday")


def test_check_keeps_passes_and_progress_shows_them(tmp_path: Path) -> None:
    """From a checked take to the twelve keys, text, JSON."""
    path = tmp_path / "study.json"
    path.write_text(to_json(study(5, up=3)))
    runner = CliRunner(env={"STACKLINE_HOME": str(tmp_path / "home")})
    kept = runner.invoke(commands, ["check", str(path), "--changes", TARGET_TEXT, "--add"])
    assert kept.exit_code == 0, kept.output
    shown = runner.invoke(commands, ["progress"]).output
    assert "Eb   coming" in shown
    data = json.loads(runner.invoke(commands, ["progress", "--json"]).output)
    eb = next(one for one in data["targets"][0]["keys"] if one["key"] == "Eb")
    assert (eb["passes"], eb["clean"], eb["verdict"]) == (1, 1, "coming")


def test_a_take_with_nothing_in_it_is_not_added(library: Library) -> None:
    """Silence is told, and kept out of the list."""
    with pytest.raises(Complaint, match="nothing was heard in silence"):
        library.add(empty_take())
    assert library.entries() == []


def test_the_store_is_a_write_ahead_log_that_syncs(tmp_path: Path) -> None:
    """The settings that the promises stand on."""
    with Store(tmp_path / "x.db") as store:
        assert store.read("PRAGMA journal_mode")[0][0] == "wal"
        assert store.read("PRAGMA synchronous")[0][0] == 2
        assert store.read("PRAGMA foreign_keys")[0][0] == 1
