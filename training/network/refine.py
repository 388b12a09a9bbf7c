"""A shorter second training, on a CPU, from a checkpoint of `training.network.train`.

``python -m training.network.refine BANK --checkpoint FILE --out FILE --minutes 40``. For what a
training has been seen to lack, when there is no GPU to train anew: same clips, same loss, a
rate eight times smaller, the statistics of batch norm kept as they are. In bfloat16 with the
channels last: 0.26 s a clip on two shared cores, against 2.4 s otherwise. No shipped weights
come from it.
"""

import argparse
import copy
import math
import time
from pathlib import Path

import torch

from fixtures.sounded.bank import load_bank
from training.network.clips import Studio
from training.network.feed import Source, cells, labels_of, read_speech, scores_of
from training.network.loss import loss
from training.network.network import Network, Shape
from training.synthesis.acoustics import Conditions
from training.synthesis.voices import Orchestra

RENEW_EACH = 20  # steps after which a voice is replaced: voices take seconds on a CPU
_AVERAGE = 0.98


def refine(
    network: Network, studio: Studio, source: Source, rate: float, minutes: float, out: Path
) -> Network:
    """Train for some minutes; the running average of the weights comes back."""
    network = network.to(memory_format=torch.channels_last)
    average = copy.deepcopy(network)
    optimiser = torch.optim.AdamW(network.parameters(), lr=rate, weight_decay=0.01)
    network.eval()  # batch norm as it is; everything is trained all the same
    began, shown, step, sums = time.perf_counter(), time.perf_counter(), 0, []
    while (progress := (time.perf_counter() - began) / (60 * minutes)) < 1:
        if step % RENEW_EACH == RENEW_EACH - 1:
            studio.orchestra.renew_next()
        batch = cells(studio.record(scores_of(source.seed, source.start + step, source.batch)))
        for group in optimiser.param_groups:
            group["lr"] = rate * min(1, (step + 1) / 20) * 0.5 * (1 + math.cos(math.pi * progress))
        features = batch["features"].float().contiguous(memory_format=torch.channels_last)
        with torch.autocast("cpu", torch.bfloat16):
            logits = network(features)
        losses = loss(logits, labels_of(batch))
        optimiser.zero_grad(set_to_none=True)
        losses.total.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        with torch.no_grad():
            for mean, value in zip(average.parameters(), network.parameters(), strict=True):
                mean.lerp_(value, 1 - min(_AVERAGE, (step + 1) / (step + 5)))
        step += 1
        sums.append(float(losses.onset))
        if time.perf_counter() - shown > 60:
            recent = sums[-40:]
            print(f"step {step} progress {progress:.2f} onset {sum(recent) / len(recent):.3f}",
                  flush=True)  # fmt: skip
            shown = time.perf_counter()
            torch.save({"average": average.state_dict()}, out)
    return average


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser()
    parser.add_argument("bank", type=Path)
    parser.add_argument("--checkpoint", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--speech", type=Path)
    parser.add_argument("--minutes", type=float, default=40)
    parser.add_argument("--rate", type=float, default=3e-4)
    parser.add_argument("--seed", type=int, default=2)
    parser.add_argument("--batch", type=int, default=16)
    parser.add_argument("--voices", type=int, default=6)
    wish = parser.parse_args()
    state = torch.load(wish.checkpoint, map_location="cpu", weights_only=True)
    network = Network(Shape())
    network.load_state_dict(state["average"])
    source = Source(
        bank=wish.bank, speech=wish.speech, device="cpu", seed=wish.seed,
        start=0, batch=wish.batch, voices=wish.voices, workers=0,
    )  # fmt: skip
    rng = torch.Generator().manual_seed(wish.seed)
    orchestra = Orchestra(load_bank(wish.bank, split="train"), wish.voices, rng)
    orchestra.fill()
    print("orchestra ready", flush=True)
    studio = Studio(orchestra, Conditions(rng, read_speech(wish.speech, "cpu")))
    refined = refine(network, studio, source, wish.rate, wish.minutes, wish.out)
    torch.save({"average": refined.state_dict()}, wish.out)


if __name__ == "__main__":
    main()
