"""How right the program is: ``python -m bench.accuracy --bank FOLDER --ear general``.

Makes takes from seeds, renders them with a bank's instruments in every scene of
`scenes`, has each listener hear the same files, and scores them (`scoring`).
Figures to be quoted come from ``--split dev``, instruments that nothing was trained or
settled on. Results go to a JSON file and, beside it, a table in Markdown.
"""

import dataclasses
import json
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
import soundfile

from bench.scoring.listeners import Listener, MidiProgram, OurEar
from bench.scoring.network_notes import NetworkNotes
from bench.scoring.pooled import Pooled, Rate, pool
from bench.scoring.provenance import provenance
from bench.scoring.scoring import Heard, TakeScore, score_take
from bench.scoring.tables import quiet_table, results_table, trust_lines
from fixtures.sounded.bank import load_bank
from fixtures.sounded.company import has_speech
from fixtures.sounded.scenes import (
    FIRST_SEED,
    PLAYED,
    QUIET,
    Recording,
    Scene,
    Studio,
    record_quiet,
    record_scene,
)
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text
from stackline.theory.chords.qualities import QUALITIES

RESULTS = Path(__file__).parent / "results"
FAMILIES = {quality.key: quality.family for quality in QUALITIES}


@dataclass(frozen=True, kw_only=True)
class Size:
    """How much is run: takes of a scene, seconds of a take, seconds of each kind of quiet."""

    takes: int
    duration_s: float
    quiet_s: float


FULL = Size(takes=8, duration_s=45.0, quiet_s=60.0)
QUICK = Size(takes=2, duration_s=20.0, quiet_s=20.0)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """Everything one listener reached. scenes: by (table, scene). quiet: false per second."""

    listener: str
    scenes: dict[tuple[str, str], Pooled]
    together: Pooled
    quiet: dict[str, float]
    seconds: float


@dataclass(kw_only=True)
class _Trial:
    """What one listener has reached so far."""

    scenes: dict[tuple[str, str], list[TakeScore]] = field(default_factory=dict)
    quiet: dict[str, float] = field(default_factory=dict)
    seconds: float = 0.0

    def outcome(self, listener: str) -> Outcome:
        every = [score for scores in self.scenes.values() for score in scores]
        return Outcome(
            listener=listener,
            scenes={row: pool(scores) for row, scores in self.scenes.items()},
            together=pool(every),
            quiet=self.quiet,
            seconds=self.seconds,
        )


def run(
    listeners: Sequence[Listener],
    studio: Studio,
    size: Size,
    scenes: Sequence[Scene] = PLAYED,
    quiet: Sequence[str] = QUIET,
    first_seed: int | None = None,
) -> tuple[list[Outcome], dict[str, list[str]]]:
    """Try every listener in every scene; also the instruments that each scene was played on."""
    trials = {one.name: _Trial() for one in listeners}
    played_on: dict[str, list[str]] = {}
    for scene in scenes:
        recordings = list(
            record_scene(
                scene, studio, takes=size.takes, duration_s=size.duration_s, first_seed=first_seed
            )
        )
        row = f"{scene.table}: {scene.name}"
        played_on[row] = sorted({name for one in recordings for name in one.instruments})
        for listener in listeners:
            trial = trials[listener.name]
            started = time.perf_counter()
            scores = list(_score(listener, recordings))
            trial.seconds += time.perf_counter() - started
            trial.scenes[scene.table, scene.name] = scores
            _say(listener, row, pool(scores))
    for name in quiet:
        recordings = list(record_quiet(name, studio, takes=1, duration_s=size.quiet_s))
        for listener in listeners:
            count = sum(len(heard.attacks) for heard in _listen(listener, recordings))
            trials[listener.name].quiet[name] = count / (size.quiet_s * len(recordings))
    return [trial.outcome(name) for name, trial in trials.items()], played_on


def _score(listener: Listener, recordings: Sequence[Recording]) -> Iterator[TakeScore]:
    for recording, heard in zip(recordings, _listen(listener, recordings), strict=True):
        if recording.take is None:
            raise ValueError("nothing was played in this recording, so nothing can be scored")
        yield score_take(recording.take, heard, FAMILIES)


def _listen(listener: Listener, recordings: Sequence[Recording]) -> list[Heard]:
    """Let a listener hear recordings as files, the way a player's files come."""
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for index, recording in enumerate(recordings):
            path = Path(folder) / f"take-{index}.wav"
            soundfile.write(path, recording.samples, recording.rate_hz, subtype="PCM_16")
            paths.append(path)
        return listener.listen(paths)


def _say(listener: Listener, row: str, pooled: Pooled) -> None:
    click.echo(
        f"{listener.name:<36} {row:<36} exact {pooled.exact.value:.3f} "
        f"top {pooled.top.value:.3f} of {pooled.exact.total}",
        err=True,
    )


def as_data(value: Any) -> Any:
    """Records as plain JSON values; a rate as its value, counts and interval."""
    if isinstance(value, Rate):
        return {"value": value.value, "right": value.right, "total": value.total,
                "interval_95": value.interval}  # fmt: skip
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: as_data(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {": ".join(key) if isinstance(key, tuple) else key: as_data(one)
                for key, one in value.items()}  # fmt: skip
    if isinstance(value, list | tuple):
        return [as_data(one) for one in value]
    return value


def report(
    outcomes: Sequence[Outcome], facts: dict[str, Any], size: Size, left_out: Iterable[str]
) -> str:
    """The run in Markdown."""
    parts = [f"# Accuracy, {outcomes[0].listener}, split {facts['split']}", _preamble(facts, size)]
    parts += [f"Left out: {reason}" for reason in left_out]
    for outcome in outcomes:
        parts += [f"## {outcome.listener}", results_table(outcome.scenes)]
        if any(row.count for row in outcome.together.trust):
            parts += ["Confidence of an attack against how often it is exact, all scenes:"]
            parts += [trust_lines(outcome.together.trust)]
    quiet = {outcome.listener: outcome.quiet for outcome in outcomes}
    if outcomes[0].quiet:
        parts += ["## Nobody plays", quiet_table(quiet, size.quiet_s)]
    return "\n\n".join(parts) + "\n"


def _preamble(facts: dict[str, Any], size: Size) -> str:
    instruments = sorted({name for names in facts["instruments"].values() for name in names})
    band = ", ".join(facts["band"])
    return (
        f"Commit {facts['commit']}. {size.takes} takes of about {size.duration_s:.0f} s a scene, "
        f"seeds from {facts['first_seed']}. Played on: {', '.join(instruments)}. Bass and drums: "
        f"{band}, which exist only in the training split. Exact: the struck set of an attack is "
        "identical. Sure: confidence of 0.9 or more; right is how often these are exact, share "
        "how many there are per true attack. Root and family are scored on listed voicings whose "
        "notes are exact, without a bass. `bench/scoring/scoring.py` has the definitions."
    )


def make_listeners(ear: str, *, with_peers: bool, programs: Sequence[Path]) -> list[Listener]:
    """The ear under test first, then the peers of the same run."""
    from stackline.listen.general.general_ear import GeneralEar

    listeners: list[Listener] = []
    if ear == "piano":
        from stackline.listen.piano.piano_ear import PianoEar

        listeners.append(OurEar(PianoEar()))
    if ear == "general" or with_peers:
        listeners.append(OurEar(GeneralEar()))
    if with_peers:
        listeners.append(NetworkNotes())
    return [*listeners, *map(MidiProgram, programs)]


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--ear", type=click.Choice(["general", "piano"]), required=True)
@click.option("--split", type=click.Choice(["dev", "train"]), default="dev", show_default=True)
@click.option("--quick", is_flag=True, help="Two short takes a scene: minutes, wide intervals.")
@click.option("--takes", type=click.IntRange(1), help="Takes of a scene, instead of the usual.")
@click.option("--only", multiple=True, help="Only scenes whose row holds this text.")
@click.option("--peers/--no-peers", default=True, show_default=True)
@click.option(
    "--midi-peer",
    "programs",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A program to compare, called as PROGRAM IN.wav OUT.mid.",
)
@click.option("--out", type=click.Path(path_type=Path), help="The JSON file to write.")
def main(
    bank: Path,
    ear: str,
    split: str,
    quick: bool,
    takes: int | None,
    only: tuple[str, ...],
    peers: bool,
    programs: tuple[Path, ...],
    out: Path | None,
) -> None:
    """Score an ear on made takes.

    Example: python -m bench.accuracy --bank ~/notes --ear piano --quick
    """
    try:
        studio = Studio(
            players=load_bank(bank, split=split), company=load_bank(bank, split="train"),
            split=split,
        )  # fmt: skip
        size = QUICK if quick else FULL
        size = dataclasses.replace(size, takes=takes) if takes else size
        scenes, quiet, left_out = _chosen(only)
        listeners = make_listeners(ear, with_peers=peers, programs=programs)
        outcomes, played_on = run(listeners, studio, size, scenes, quiet)
    except Complaint as complaint:
        raise click.ClickException(str(complaint)) from complaint
    facts = provenance() | {
        "split": split,
        "first_seed": FIRST_SEED[split],
        "instruments": played_on,
        "band": [one.name for one in studio.company.of_role("bass", "drums")],
        "left_out": left_out,
    }
    name = f"accuracy-{ear}-{split}{'-quick' if quick else ''}{'-part' if only else ''}.json"
    path = out or RESULTS / name
    data = {"made": facts, "size": as_data(size), "outcomes": as_data(outcomes)}
    write_text(path, json.dumps(data, indent=1) + "\n")
    table = report(outcomes, facts, size, left_out)
    write_text(path.with_suffix(".md"), table)
    click.echo(table)


def _chosen(only: tuple[str, ...]) -> tuple[list[Scene], list[str], list[str]]:
    """Scenes and kinds of quiet to run, and in words what is left out and why."""
    left_out = []
    scenes, quiet = list(PLAYED), list(QUIET)
    if not has_speech():
        left_out.append("speech and talk, since espeak-ng is not installed here.")
        scenes = [scene for scene in scenes if "talk" not in scene.name]
        quiet.remove("speech")
    if only:
        scenes = [one for one in scenes if any(text in f"{one.table}: {one.name}" for text in only)]
        quiet = [name for name in quiet if any(text in f"quiet: {name}" for text in only)]
        left_out.append(f"all rows without {' or '.join(map(repr, only))} in their name.")
    if not scenes:
        raise Complaint(f"no scene matches {only}; try --only 'listed: clean'")
    return scenes, quiet, left_out


if __name__ == "__main__":
    main()
