"""Fits what follows the piano ear's network: trust in an attack, and the scale of velocities.

``python -m training.classifiers.fit_piano_trust --bank FOLDER``. Material: takes on each piano and
electric piano of the bank's ``dev`` split, which the network never met, in the scenes of
`SCENES`, on seeds that no figure is quoted for. An attack is exact if the keys kept are those
that were struck within 50 ms of it. Trust is fitted by logistic regression on all instruments;
what it is worth is told by fits that leave one instrument out in turn.

Fit again whenever the network changes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np

from fixtures.played.truth import TrueNote
from fixtures.sounded.bank import load_bank
from fixtures.sounded.scenes import PLAYED, Studio, record_scene
from stackline.listen.ear import silent
from stackline.listen.piano import piano_trust, piano_velocity
from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.listen.piano.piano_decoding import Candidates, struck
from stackline.listen.piano.piano_ear import RULES, PianoEar
from stackline.listen.piano.piano_trust import chances, trust_table
from stackline.listen.piano.piano_velocity import log_odds
from stackline.listen.recording.tuning import estimate_tuning
from stackline.shared.files import beside
from stackline.shared.sound import Audio
from stackline.shared.units import LOWEST_MIDI
from training.card import write_card

FIRST_SEED, TAKES, TAKE_S = 70_000, 3, 40.0
SCENES = ("clean", "room", "phone", "bass and drums at -12 dB", "bass and drums at -3 dB")
TOLERANCE_S = 0.05
SURE = 0.9
CAUTION = 0.2  # log odds less than fitted: chords from no list are more doubtful than they look


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """One take: on what, what the network found, what was played."""

    instrument: str
    found: Candidates
    notes: tuple[TrueNote, ...]


def material(bank: Path) -> Iterator[Heard]:
    """The takes, heard; tens of minutes on two cores."""
    company, players = (load_bank(bank, split=split) for split in ("train", "dev"))
    ear = PianoEar()
    for instrument in players.of_role("piano", "electric_piano"):
        studio = Studio(players=players, company=company, split="dev", only=instrument.name)
        for scene in PLAYED:
            if scene.name not in SCENES:
                continue
            for one in record_scene(
                scene, studio, takes=TAKES, duration_s=TAKE_S, first_seed=FIRST_SEED
            ):
                audio = Audio(name="", samples=one.samples, sample_rate_hz=one.rate_hz, sha256="")
                assert audio.sample_rate_hz == SAMPLE_RATE_HZ
                heard = ear.evidence(audio, estimate_tuning(audio), silent)
                notes = one.take.notes if one.take else ()
                yield Heard(instrument=instrument.name, found=heard.found, notes=notes)


def attacks(one: Heard) -> tuple[np.ndarray, np.ndarray]:
    """What trust rests on, and whether it is exact, of each attack heard in a take."""
    kept = struck(one.found, RULES)
    parts, table = trust_table(one.found, kept)
    exact = [_exact(one, part[kept[part]]) for part in parts]
    return table, np.array(exact, bool)


def _exact(one: Heard, mine: np.ndarray) -> bool:
    times = one.found.time_s[mine]
    first, last = times.min() - TOLERANCE_S, times.max() + TOLERANCE_S
    true = {note.midi - LOWEST_MIDI for note in one.notes if first <= note.onset_s <= last}
    return set(one.found.key[mine].tolist()) == true


def fit_trust(table: np.ndarray, exact: np.ndarray) -> np.ndarray:
    """Weights of `piano_trust`: logistic regression (Newton, slight ridge), less CAUTION."""
    weights = np.zeros(table.shape[1])
    for _ in range(30):
        chance = 1 / (1 + np.exp(-table @ weights))
        slope = table.T @ (exact - chance) - 1e-2 * weights
        bend = (table * (chance * (1 - chance))[:, None]).T @ table + 1e-2 * np.eye(len(weights))
        weights += np.linalg.solve(bend, slope)
    weights[-1] -= CAUTION
    return weights


def leave_one_out(takes: Sequence[Heard]) -> dict[str, tuple[float, float]]:
    """For each instrument, with weights from the others: share that is sure, right of these."""
    found = {}
    for name in sorted({one.instrument for one in takes}):
        rows = [attacks(one) for one in takes if one.instrument != name]
        weights = fit_trust(*(np.concatenate(column) for column in zip(*rows, strict=True)))
        mine = [attacks(one) for one in takes if one.instrument == name]
        table, exact = (np.concatenate(column) for column in zip(*mine, strict=True))
        sure = chances(table, weights) >= SURE
        found[name] = (float(sure.mean()), float(exact[sure].mean()))
    return found


def fit_velocity(takes: Sequence[Heard]) -> float:
    """MIDI velocities for each log odd of the network's own, by least squares in each take."""
    product = square = 0.0
    for one in takes:
        said, true = _velocities(one)
        if len(said) > 1:
            said, true = said - said.mean(), true - true.mean()
            product, square = product + float(said @ true), square + float(said @ said)
    return product / square


def _velocities(one: Heard) -> tuple[np.ndarray, np.ndarray]:
    """What the network says of each note heard, and how hard it was struck."""
    said, true, kept = [], [], struck(one.found, RULES)
    for note in one.notes:
        off = np.abs(one.found.time_s - note.onset_s)
        off[(one.found.key != note.midi - LOWEST_MIDI) | ~kept] = np.inf
        if len(off) and off.min() <= TOLERANCE_S:
            said.append(one.found.velocity[off.argmin()])
            true.append(note.velocity)
    return log_odds(np.array(said)), np.array(true, float)


def save(path: Path, bank: Path, note: str, **arrays: np.ndarray) -> None:
    """Weights, and beside them where they come from."""
    with beside(path) as temporary, temporary.open("wb") as file:
        np.savez(file, **arrays)  # type: ignore[arg-type]
    command = "python -m training.classifiers.fit_piano_trust --bank FOLDER"
    seeds = f"dev takes from {FIRST_SEED}, {TAKES} a scene and instrument{note}"
    write_card(path, bank, command, seeds)


def fit(takes: Sequence[Heard], bank: Path, note: str = "") -> None:
    """Fit both, say what they are worth, write them."""
    for name, (share, right) in leave_one_out(takes).items():
        click.echo(f"{name} left out: sure {share:.3f} of attacks, right {right:.4f} of these")
    rows = [attacks(one) for one in takes]
    weights = fit_trust(*(np.concatenate(column) for column in zip(*rows, strict=True)))
    scale = fit_velocity(takes)
    click.echo(f"trust {np.round(weights, 3).tolist()}, velocities {scale:.2f} a log odd")
    save(piano_trust.WEIGHTS, bank, note, weights=weights)
    save(piano_velocity.WEIGHTS, bank, note, scale=np.array(scale))


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
def main(bank: Path) -> None:
    """Make the takes, hear them, fit, and write the weights."""
    fit(list(material(bank)), bank)


if __name__ == "__main__":
    main()
