"""The training loop of the piano ear, all of it.

``python -m training.network.train BANK --out FOLDER [--speech FILE] [--minutes 18]`` trains on one
GPU; under ``python -m torch.distributed.run --nproc_per_node 4 -m training.network.train ...`` on
several, one process each with sound of its own. The learning rate follows the time spent, so
the minutes decide. It writes ``FOLDER/checkpoint.pt`` every two minutes and at the end, and goes
on from there when it is called again (``--stop-after`` ends one call early, where machines are
lent for a while). ``--begin-with`` takes the weights of another run, and a warm-up.
``python -m training.network.export`` makes the shipped weights of it.
"""

import argparse
import copy
import json
import math
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import torch
import torch.distributed as dist

from fixtures.sounded.bank import load_bank
from training.network.dev_set import DevSet, dev_sets
from training.network.feed import Cells, Feed, Source, labels_of, read_speech
from training.network.loss import loss
from training.network.network import Network, Shape
from training.network.validation import exact, log_odds, logits_of

_WARM_STEPS = 300
_TALK_EACH = 10  # steps after which the processes agree on the time and on the end


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What a training is. Times in seconds of the loop alone, without preparations."""

    total_s: float
    seed: int = 1
    batch: int = 64
    voices: int = 48
    peak_rate: float = 2.5e-3
    decay: float = 0.01
    average: float = 0.9993
    report_each_s: float = 20.0
    check_each_s: float = 120.0


class Run:
    """A training under way: network, its running average, optimiser, and how far it is."""

    def __init__(self, plan: Plan, device: torch.device) -> None:
        self.plan, self.device = plan, device
        torch.manual_seed(plan.seed)
        self.network = Network(Shape()).to(device)
        self.average = copy.deepcopy(self.network).eval()
        weights = [p for p in self.network.parameters() if p.ndim > 1]
        others = [p for p in self.network.parameters() if p.ndim <= 1]
        groups = [{"params": weights, "weight_decay": plan.decay}, {"params": others}]
        self.optimiser = torch.optim.AdamW(
            groups, lr=plan.peak_rate, weight_decay=0.0, fused=device.type == "cuda"
        )
        self.step, self.spent_s, self.clock_s, self.warm_from = 0, 0.0, 0.0, 0
        self.history: list[dict[str, float]] = []

    def save(self, path: Path) -> None:
        state = {
            "network": self.network.state_dict(),
            "average": self.average.state_dict(),
            "optimiser": self.optimiser.state_dict(),
            "step": self.step,
            "spent_s": self.spent_s,
            "history": self.history,
        }
        beside = path.with_suffix(".tmp")
        torch.save(state, beside)
        beside.replace(path)

    def load(self, path: Path) -> None:
        state = torch.load(path, map_location=self.device, weights_only=True)
        self.network.load_state_dict(state["network"])
        self.average.load_state_dict(state["average"])
        self.optimiser.load_state_dict(state["optimiser"])
        self.step, self.spent_s = state["step"], state["spent_s"]
        self.clock_s, self.warm_from = self.spent_s, -_WARM_STEPS
        self.history = state["history"]

    def begin_with(self, path: Path) -> None:
        """The averaged weights of another run, nothing else."""
        state = torch.load(path, map_location=self.device, weights_only=True)
        self.network.load_state_dict(state["average"])
        self.average.load_state_dict(state["average"])

    def rate(self) -> float:
        """A short warming up, then half a cosine over the whole time."""
        progress = min(self.clock_s / self.plan.total_s, 1.0)
        warm = min(1.0, (self.step - self.warm_from + 1) / _WARM_STEPS)
        return self.plan.peak_rate * warm * (0.5 * (1 + math.cos(math.pi * progress)) + 1e-3)


def train(
    run: Run, batches: Iterator[Cells], sets: tuple[DevSet, ...], out: Path, stop_at: float
) -> None:
    """The loop. stop_at: on time.perf_counter's clock."""
    plan, cuda = run.plan, run.device.type == "cuda"
    network = torch.compile(run.network) if cuda else run.network
    pairs = _floats(run.average), _floats(run.network)
    began, spent = time.perf_counter(), run.spent_s
    shown, checked, first = began, began, run.step
    waited, ended, leads = 0.0, False, _rank() == 0
    while not ended:
        before = time.perf_counter()
        batch = next(batches)
        waited += time.perf_counter() - before
        for group in run.optimiser.param_groups:
            group["lr"] = run.rate()
        run.network.train()
        with torch.autocast(run.device.type, torch.bfloat16, enabled=cuda):
            logits = network(batch["features"].float())
        losses = loss(logits, labels_of(batch))
        run.optimiser.zero_grad(set_to_none=True)
        losses.total.backward()
        late = time.perf_counter() > stop_at or run.spent_s > plan.total_s
        ended = shared_step(run, late)
        torch.nn.utils.clip_grad_norm_(run.network.parameters(), 2.0, foreach=True)
        run.optimiser.step()
        with torch.no_grad():  # the running average follows
            inertia = min(plan.average, (run.step + 1) / (run.step + 20))
            torch._foreach_lerp_(*pairs, 1 - inertia)
        run.step += 1
        now = time.perf_counter()
        run.spent_s = spent + now - began
        if leads and now - shown > plan.report_each_s:
            values = [round(float(x.detach()), 4) for x in
                      (losses.onset, losses.sustain, losses.time, losses.velocity)]  # fmt: skip
            speed = (run.step - first) / (now - shown)
            print(f"{run.spent_s:6.0f} s step {run.step} {speed:.1f}/s waited "
                  f"{waited / (now - shown):.2f} loss {values}", flush=True)  # fmt: skip
            shown, first, waited = now, run.step, 0.0
        if leads and now - checked > plan.check_each_s:
            check(run, sets)
            run.save(out / "checkpoint.pt")
            checked = time.perf_counter()
    if leads:
        run.save(out / "checkpoint.pt")
        check(run, sets)


def shared_step(run: Run, late: bool) -> bool:
    """Gradients averaged over all processes; their clocks too; whether any of them must end."""
    if not dist.is_initialized():
        run.clock_s = run.spent_s
        return late
    gradients = [p.grad for p in run.network.parameters() if p.grad is not None]
    told = torch.tensor([run.spent_s, float(late)], device=run.device)
    flat = torch.cat([gradient.flatten() for gradient in gradients] + [told])
    dist.all_reduce(flat)
    flat /= dist.get_world_size()
    parts = flat[:-2].split([gradient.numel() for gradient in gradients])
    for gradient, part in zip(gradients, parts, strict=True):
        gradient.copy_(part.view_as(gradient))
    if run.step % _TALK_EACH:
        return False
    run.clock_s, over = flat[-2:].tolist()
    return over > 0


def _rank() -> int:
    return dist.get_rank() if dist.is_initialized() else 0


def _place() -> torch.device:
    """The device of this process, ready to talk to the others, if there are any."""
    cuda = torch.cuda.is_available()
    rank = int(os.environ.get("LOCAL_RANK", "0"))
    device = torch.device(f"cuda:{rank}" if cuda else "cpu")
    if cuda:
        torch.cuda.set_device(device)
    if int(os.environ.get("WORLD_SIZE", "1")) > 1:
        dist.init_process_group("nccl" if cuda else "gloo")
    return device


def _floats(network: torch.nn.Module) -> list[torch.Tensor]:
    """Weights and running statistics, by reference."""
    state = network.state_dict(keep_vars=True).values()
    return [tensor.detach() for tensor in state if tensor.is_floating_point()]


def check(run: Run, sets: tuple[DevSet, ...]) -> None:
    """Validate the averaged network and keep the figures."""
    row: dict[str, float] = {"step": run.step, "spent_s": round(run.spent_s, 1)}
    for one in sets:
        odds = log_odds(logits_of(run.average, one.features.to(run.device))[:, 0], one.groups)
        right = {at: float(exact(odds, one.groups, at).mean()) for at in (-1.0, -0.5, 0.0, 0.5)}
        best = max(right, key=right.__getitem__)
        row[one.name], row[one.name + " at"] = round(right[best], 4), best
    run.history.append(row)
    print("dev", json.dumps(row), flush=True)


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("bank", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--speech", type=Path)
    parser.add_argument("--minutes", type=float, default=18.0)
    parser.add_argument("--stop-after", type=float, default=math.inf, metavar="SECONDS")
    parser.add_argument("--begin-with", type=Path, metavar="CHECKPOINT")
    parser.add_argument("--rate", type=float, default=2.5e-3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--makers", type=int, default=2, help="processes that make sound")
    parser.add_argument("--workers", type=int, default=5, help="that write scores for each")
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--voices", type=int, default=48)
    parser.add_argument("--synthesis", metavar="DEVICE", help="where sound is made (cuda:1)")
    wish = parser.parse_args()
    stop_at = time.perf_counter() + wish.stop_after
    device = _place()
    plan = Plan(
        total_s=wish.minutes * 60, peak_rate=wish.rate, seed=wish.seed, batch=wish.batch,
        voices=wish.voices,
    )  # fmt: skip
    run = Run(plan, device)
    wish.out.mkdir(parents=True, exist_ok=True)
    if (wish.out / "checkpoint.pt").exists():
        run.load(wish.out / "checkpoint.pt")
        print(f"going on from step {run.step}, {run.spent_s:.0f} s", flush=True)
    elif wish.begin_with:
        run.begin_with(wish.begin_with)
    bank, dev = load_bank(wish.bank, split="train"), load_bank(wish.bank, split="dev")
    speech = read_speech(wish.speech, device)
    source = Source(
        bank=wish.bank, speech=wish.speech, device=wish.synthesis or str(device),
        seed=plan.seed + 7919 * _rank(), start=run.step, batch=plan.batch, voices=plan.voices,
        workers=wish.workers, makers=wish.makers,
    )  # fmt: skip
    feed = Feed(source, device)
    try:
        sets: tuple[DevSet, ...] = ()
        if _rank() == 0:
            sets = dev_sets(bank, dev, torch.Generator(device=device).manual_seed(99), speech)
            print(f"dev sets: {[len(one.groups.keys) for one in sets]} attacks", flush=True)
        train(run, iter(feed), sets, wish.out, stop_at)
    finally:
        feed.close()


if __name__ == "__main__":
    main()
