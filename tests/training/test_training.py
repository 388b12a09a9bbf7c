"""The training's parts that need torch; skipped where it is not installed."""

import dataclasses

import numpy as np
import pytest

from stackline.listen.piano.features import BEFORE, HOP, N_BINS, N_WINDOWS

torch = pytest.importorskip("torch", exc_type=ImportError)


def test_labels_stand_around_a_strike() -> None:
    """Both frames around a strike are 1, and their times point at it."""
    from training.network.clips import label

    place = 30.25
    onset = torch.tensor([[BEFORE + place * HOP]])
    labels = label(
        torch.tensor([[True]]), torch.tensor([[39]]), onset, onset + 20 * HOP, torch.tensor([[0.5]])
    )
    assert torch.nonzero(labels.onset).tolist() == [[0, 30, 39], [0, 31, 39]]
    assert labels.time[0, 30, 39].item() == pytest.approx(0.25)
    assert labels.time[0, 31, 39].item() == pytest.approx(-0.75)
    assert labels.sounding[0, :, 39].sum().item() == 21
    assert labels.weight[0, 30, 39 + 12].item() > 1 > labels.weight[0, 29, 39].item()


def test_the_products_are_the_convolutions() -> None:
    """A block computed by matrix products, as on a GPU, equals the block by convolutions."""
    from training.network.network import Block, Shape

    torch.manual_seed(0)
    block = Block(Shape(), 4).eval()
    x = torch.randn(1, Shape().width, 12, 88)
    with torch.no_grad():
        assert (block(x) - block.as_products(x)).abs().max().item() < 1e-4


def test_resampling_keeps_a_sine() -> None:
    """A sine read at 1.03 times its speed is the sine of 1.03 times the frequency."""
    from training.synthesis.resampling import resampled

    t = torch.arange(8000) / 16000
    tone = torch.sin(6.2831853 * 440 * t)[None]
    fast = resampled(tone, torch.tensor([0]), torch.tensor([1.03]), 6000)[0]
    wanted = torch.sin(6.2831853 * 440 * 1.03 * t[:6000])
    assert (fast - wanted)[50:].abs().max().item() < 0.01


def test_a_partial_has_its_frequency_and_decay() -> None:
    """One partial of a made tone: the spectrum's peak is f0 times its ratio."""
    from training.synthesis.tones import render_plainly

    row = torch.tensor([[[2.0, 0.5, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0]]])
    sound = render_plainly(torch.tensor([220.0]), row, 16000, 0.0)[0].numpy()
    assert int(np.argmax(np.abs(np.fft.rfft(sound)))) == 440
    assert np.abs(sound[-400:]).max() == pytest.approx(0.5 * np.exp(-1), rel=0.05)


def test_a_few_steps_of_training_lower_the_loss() -> None:
    """The loop's pieces together: one batch of noise is learnt by heart."""
    from training.network.loss import loss
    from training.network.network import Network, Shape

    torch.manual_seed(1)
    torch.set_num_threads(1)
    from training.network.clips import N_FRAMES, label

    shape = Shape(front=4, width=8, hidden=8, dilations=(1, 2))
    network = Network(shape)
    place = torch.tensor([[BEFORE + 40.5 * HOP, BEFORE + 80.2 * HOP]])
    keys = torch.tensor([[30, 45]])
    loud = torch.full((1, 2), 0.6)
    labels = label(torch.ones(1, 2, dtype=torch.bool), keys, place, place + 9000, loud)
    features = torch.randn(1, N_WINDOWS, N_FRAMES, N_BINS)
    optimiser = torch.optim.AdamW(network.parameters(), lr=1e-2)
    values = []
    for _ in range(12):
        total = loss(network(features), labels).total
        optimiser.zero_grad()
        total.backward()
        optimiser.step()
        values.append(total.item())
    assert values[-1] < 0.6 * values[0]


def test_export_says_what_torch_says() -> None:
    """ONNX and torch agree on random features of another length than the example's."""
    pytest.importorskip("onnx")
    from training.network.export import difference, to_onnx
    from training.network.network import Network, Shape

    network = Network(Shape(front=4, width=8, hidden=8, dilations=(1, 2))).eval()
    assert difference(network, to_onnx(network)) < 1e-3


def test_every_kind_of_voice_can_be_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sampled and made voices, near and far from their instruments: finite, and no key silent."""
    from fixtures.sounded.bank import Bank, Instrument, Layer
    from training.synthesis import voices
    from training.synthesis.bending import SLOT
    from training.synthesis.clip_score import TIERS

    pitches = np.array([40, 64, 88])
    notes = np.random.default_rng(1).normal(0, 0.1, (3, 80_000)).astype(np.float32)
    layer = Layer(velocity=80, pitches=pitches, notes=notes)
    bank = Bank(
        sample_rate_hz=16_000,
        instruments=tuple(
            Instrument(name=role, role=role, split="train", source="", licence="", layers=(layer,))
            for role in ("piano", "electric_piano", "bass", "drums", "lead")
        ),
    )
    rng = torch.Generator().manual_seed(4)
    monkeypatch.setattr(voices, "N_KEYS", 3)
    orchestra = voices.Orchestra(bank, 1, rng)
    for spread in (voices.NEAR, voices.FAR):
        for sampled, struck in ((1.0, 1.0), (0.0, 1.0), (0.0, 0.0)):
            only = dataclasses.replace(spread, sampled=sampled, struck=struck, bent=1.0)
            monkeypatch.setattr(voices, "NEAR", only)
            monkeypatch.setattr(voices, "FAR", only)
            made = orchestra.piano()
            assert made.shape == (3 * TIERS, SLOT)
            assert made.isfinite().all()
            assert (made.abs().amax(dim=1) > 1e-4).all()
