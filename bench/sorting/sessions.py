"""Where made sessions fall into sections: ``python -m bench.sorting.sessions``.

Sessions of `fixtures.played.sessions` from the QUOTED seeds on; the weights of `section_edges` were
fitted on TRAIN seeds. A session counts as right where every edge is found and no other: an edge is
found where a section begins within 2 s of the time between the last onset before it and the first
onset after it. With ``--bank FOLDER`` the sessions are also played on its ``dev`` instruments, with
talk of voices that nothing was learnt from, and heard; then each section's take is set against the
same sound cut out, written to a file and heard alone.

Results go to bench/results/sessions.json.
"""

import json
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
import numpy as np
import soundfile

from bench.scoring.provenance import provenance
from fixtures.played.sessions import QUOTED, TRAIN, TrueSession, as_heard, make_session
from fixtures.sounded.bank import load_bank
from fixtures.sounded.scenes import Studio
from fixtures.sounded.session_sound import record_session
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.piano.piano_ear import PianoEar
from stackline.listen.sections.section_edges import find_sections
from stackline.pipeline import hear, transcribe_session
from stackline.shared.files import write_text
from stackline.shared.take import Take

RESULTS = Path(__file__).parent.parent / "results" / "sessions.json"
NEAR_S = 2.0


@dataclass(kw_only=True)
class Score:
    """Counts over sessions. missed, edges: by what lies between the parts."""

    sessions: int = 0
    right: int = 0
    false: int = 0
    edges: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    wrong_seeds: list[int] = field(default_factory=list)

    def add(self, seed: int, session: TrueSession, starts_s: Sequence[float]) -> None:
        """Count a session. starts_s: where its sections but the first begin."""
        left = list(starts_s)
        missed = 0
        for (before_s, after_s), how in zip(session.edges, session.between, strict=True):
            self.edges[how] += 1
            near = [one for one in left if before_s - NEAR_S <= one <= after_s + NEAR_S]
            if near:
                left.remove(near[0])
            else:
                missed += 1
                self.missed[how] += 1
        self.sessions += 1
        self.false += len(left)
        is_right = not missed and not left
        self.right += is_right
        if not is_right:
            self.wrong_seeds.append(seed)

    def data(self) -> dict[str, Any]:
        """The counts, for JSON."""
        return {
            "sessions": self.sessions, "right": self.right, "false edges": self.false,
            "edges": dict(self.edges), "missed": dict(self.missed),
            "seeds with an error": self.wrong_seeds,
        }  # fmt: skip


def from_notes(first: int, count: int) -> Score:
    """Sessions as an ear that misses nothing would hear them, talk told."""
    score = Score()
    for seed in range(first, first + count):
        session = make_session(seed)
        notes, talk = as_heard(session)
        places = find_sections(find_attacks(notes), talk, session.take.duration_s)
        score.add(seed, session, [one.start_s for one in places[1:]])
    return score


def same(one: Take, other: Take) -> bool:
    """Whether two takes are equal but for their names, places and digests."""
    fields = ("tuning_cents", "grid", "notes", "attacks", "voicings", "motions", "not_playing",
              "swing_ratio", "rhythm")  # fmt: skip
    return all(getattr(one, name) == getattr(other, name) for name in fields)


def from_sound(first: int, count: int, studio: Studio) -> tuple[Score, int, int]:
    """Sessions heard; of how many sections the take equals that of the cut heard alone."""
    score, equal, sections = Score(), 0, 0
    ear = PianoEar()
    for seed in range(first, first + count):
        session = make_session(seed)
        samples = record_session(seed, session, studio)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"session-{seed}.wav"
            soundfile.write(path, samples, studio.rate_hz, subtype="FLOAT")
            heard = transcribe_session(path, ear=ear)
        score.add(seed, session, [one.start_s for one in heard.sections[1:]])
        for one in heard.sections[:1]:
            part = samples[round(one.start_s * 16_000) : round(one.end_s * 16_000)]
            equal += same(one.take, hear(np.asarray(part), studio.rate_hz, ear=ear))
            sections += 1
        click.echo(f"{seed}: {score.data()}", err=True)
    return score, equal, sections


@click.command()
@click.option("--train", is_flag=True, help="Show seeds that choices are made on; write nothing.")
@click.option("--sessions", default=100, show_default=True)
@click.option("--bank", type=click.Path(path_type=Path), help="Also from sound.")
@click.option("--heard", default=10, show_default=True, help="Sessions that are heard.")
def main(train: bool, sessions: int, bank: Path | None, heard: int) -> None:
    """Score sessions and write the figures."""
    first = TRAIN + 1000 if train else QUOTED
    found: dict[str, Any] = {"from notes": from_notes(first, sessions).data()}
    if bank is not None:
        split = "train" if train else "dev"
        other = "dev" if split == "train" else "train"
        studio = Studio(
            players=load_bank(bank, split=split), company=load_bank(bank, split=other), split=split
        )
        score, equal, sections = from_sound(first, heard, studio)
        found["from sound"] = {
            **score.data(), "sections set against the cut heard alone": sections, "equal": equal,
        }  # fmt: skip
    click.echo(json.dumps(found, indent=1))
    if not train:
        write_text(RESULTS, json.dumps({"provenance": provenance(), **found}, indent=1) + "\n")


if __name__ == "__main__":
    main()
