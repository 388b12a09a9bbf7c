"""The network with its 1x1 convolutions in 8 bits: half the time and a third of the size.

1x1 convolutions are four fifths of the work. Their weights become integers channel by channel,
their inputs by the ranges that takes on the bank's ``train`` instruments give (static
quantisation, the 99.99th percentile of activations; onnxruntime's tools). The first
convolutions, the depthwise ones and the head stay as they are.
"""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import onnx
from onnxruntime.quantization import (
    CalibrationDataReader,
    CalibrationMethod,
    QuantFormat,
    QuantType,
    quantize_static,
)
from onnxruntime.quantization.shape_inference import quant_pre_process

from fixtures.sounded.bank import Bank
from fixtures.sounded.scenes import PLAYED, Studio, record_scene
from stackline.listen.piano.features import features
from stackline.listen.piano.piano_ear import loudness_gain

FIRST_SEED = 9_000  # of takes that give ranges; no figure stands on them
TAKE_S, FIRST_FRAME, CLIP_FRAMES = 8.0, 90, 40  # some: all activations are held at once
FEWEST_CHANNELS = 16  # narrower ones (the head) stay as they are
PERCENTILE = 99.99


class Clips(CalibrationDataReader):
    """Features of takes in every scene, one clip after the other."""

    def __init__(self, bank: Bank) -> None:
        self._rest = _clips(bank)

    def get_next(self) -> dict[str, np.ndarray] | None:
        clip = next(self._rest, None)
        return None if clip is None else {"features": clip}


def _clips(bank: Bank) -> Iterator[np.ndarray]:
    studio = Studio(players=bank, company=bank, split="train")
    for number, scene in enumerate(PLAYED):
        if "talk" in scene.name:
            continue  # would need a talker
        (recording,) = record_scene(
            scene, studio, takes=1, duration_s=TAKE_S, first_seed=FIRST_SEED + number
        )
        sound = recording.samples.astype(np.float32)
        gain = loudness_gain(sound)
        yield features(sound, first_frame=FIRST_FRAME, n_frames=CLIP_FRAMES, gain=gain)[None]


def quantised(model: bytes, bank: Bank) -> bytes:
    """An exported network with its wide 1x1 convolutions in 8 bits."""
    with tempfile.TemporaryDirectory() as folder:
        plain, prepared, small = (Path(folder) / f"{name}.onnx" for name in ("a", "b", "c"))
        plain.write_bytes(model)
        quant_pre_process(str(plain), str(prepared), skip_symbolic_shape=True)
        quantize_static(
            str(prepared), str(small), Clips(bank),
            quant_format=QuantFormat.QDQ, per_channel=True,
            activation_type=QuantType.QUInt8, weight_type=QuantType.QInt8,
            nodes_to_quantize=wide_1x1(onnx.load(prepared)),
            calibrate_method=CalibrationMethod.Percentile,
            extra_options={"CalibPercentile": PERCENTILE, "ActivationSymmetric": False},
        )  # fmt: skip
        return small.read_bytes()


def wide_1x1(model: onnx.ModelProto) -> list[str]:
    """Names of the convolutions that look at one place and have many channels."""
    shapes = {one.name: list(one.dims) for one in model.graph.initializer}
    return [
        node.name
        for node in model.graph.node
        if node.op_type == "Conv"
        and shapes[node.input[1]][2:] == [1, 1]
        and shapes[node.input[1]][0] > FEWEST_CHANNELS
    ]
