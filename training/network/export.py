"""From a checkpoint to the shipped weights: ONNX, its sha256 and the facts of the model card.

``python -m training.network.export CHECKPOINT --bank BANK --seeds WORDS`` writes
`listen/piano/weights/piano_ear.onnx` and `piano_ear.json` beside it, after checking that
onnxruntime gives what torch gives; its wide 1x1 convolutions then become 8 bits (`quantise`).
"""

import argparse
import json
import tempfile
import warnings
from pathlib import Path

import numpy as np
import onnxruntime
import torch

from fixtures.sounded.bank import load_bank
from stackline.listen.piano.features import N_BINS, N_WINDOWS
from stackline.listen.piano.piano_ear import WEIGHTS
from stackline.shared.files import write_bytes
from training.card import write_card
from training.network.clips import N_FRAMES
from training.network.network import Network, Shape
from training.network.quantise import quantised

LARGEST_DIFFERENCE = 1e-3  # log odds


def load_network(checkpoint: Path) -> Network:
    """The averaged network of a checkpoint, ready to be asked."""
    state = torch.load(checkpoint, map_location="cpu", weights_only=True)
    network = Network(Shape())
    network.load_state_dict(state["average"])
    return network.eval()


def to_onnx(network: torch.nn.Module) -> bytes:
    """The network as ONNX; any number of frames, one recording at a time."""
    example = torch.zeros(1, N_WINDOWS, N_FRAMES, N_BINS)
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the exporter is called the old one; it needs no more
        path = Path(folder) / "network.onnx"
        torch.onnx.export(
            network, (example,), str(path), dynamo=False, opset_version=17,
            input_names=["features"], output_names=["logits"],
            dynamic_axes={"features": {2: "frames"}, "logits": {2: "frames"}},
        )  # fmt: skip
        return path.read_bytes()


def difference(network: torch.nn.Module, model: bytes, frames: int = 77, seed: int = 1) -> float:
    """Largest difference between onnxruntime and torch on random features."""
    rng = np.random.default_rng(seed)
    seen = rng.normal(-0.5, 0.8, (1, N_WINDOWS, frames, N_BINS)).astype(np.float32)
    session = onnxruntime.InferenceSession(model, providers=["CPUExecutionProvider"])
    (found,) = session.run(None, {"features": seen})
    with torch.no_grad():
        wanted = network(torch.from_numpy(seen)).numpy()
    return float(np.abs(found - wanted).max())


def licences(bank: Path) -> list[dict[str, str]]:
    """Sources of the notes that were trained on, each once, with licence."""
    data = json.loads((bank / "instruments.json").read_text(encoding="utf-8"))
    rows = {
        (one["source"], one["licence"]) for one in data["instruments"].values()
        if one["split"] == "train" and one["role"] != "other"
    }  # fmt: skip
    return [{"source": source, "licence": licence} for source, licence in sorted(rows)]


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser()
    parser.add_argument("checkpoint", type=Path)
    parser.add_argument("--bank", type=Path, required=True)
    parser.add_argument("--seeds", default="1", help="of the training, for the card")
    wish = parser.parse_args()
    network = load_network(wish.checkpoint)
    model = to_onnx(network)
    off = difference(network, model)
    if not off < LARGEST_DIFFERENCE:
        raise SystemExit(f"onnxruntime is {off} away from torch: not exported")
    write_bytes(WEIGHTS, quantised(model, load_bank(wish.bank, split="train")))
    card = write_card(
        WEIGHTS, wish.bank, "python -m training.network.train; python -m training.network.export",
        wish.seeds, weights=sum(p.numel() for p in network.parameters()),
        frames_seen_on_each_side=network.shape.margin, onnxruntime_against_torch=off,
        notes_from=licences(wish.bank),
    )  # fmt: skip
    print(json.dumps(card, indent=2))


if __name__ == "__main__":
    main()
