"""The weights of the encoder for rooms that the program carries, read out of its file: to train further from them, or to mix them with others.

    pip install --group training
    python tests/benchmarks/training/carried.py OUT.npz

OUT: arrays under export_encoder.py's names. The file keeps matrices in 8 bits: what is read is what runs, a little other than what was
trained.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
import onnx
from export_encoder import HALVES, HEAD, HEADS, WIDTH, Weights
from numpy.typing import NDArray
from onnx import numpy_helper

from assistant.hearing.model import read_room_encoder


def weights(file: bytes) -> Weights:
    """Of an encoder that export_encoder.py wrote."""
    kept: dict[str, NDArray[Any]] = {i.name: numpy_helper.to_array(i) for i in onnx.load_from_string(file).graph.initializer}
    out: Weights = {}
    for name, array in kept.items():
        if name.endswith("_quantized"):  # [in, out], a scale and a zero point a column
            matrix = name.removesuffix("_quantized")
            scale, zero = kept[f"{matrix}_scale"], kept[f"{matrix}_zero_point"]
            out[f"{matrix}.weight"] = _as_trained(matrix, ((array.astype(np.float32) - zero) * scale).T)
        elif name.endswith(".half"):
            out[f"{name.removesuffix('.half')}.weight"] = array.astype(np.float32)
        elif name.endswith((".weight", ".bias")):
            out[name] = array.astype(np.float32)
    return out | {name: out[name].reshape(-1) for name in ("g.weight", "g.bias")}


def _as_trained(name: str, matrix: NDArray[np.float32]) -> NDArray[np.float32]:
    """Neighbours paired again, the scale of the scores taken out of the queries (`export_encoder.projection`)."""
    if not name.endswith((".a.q", ".a.k")):
        return matrix
    paired = np.empty((HEADS, HEAD, WIDTH), np.float32)
    paired[:, HALVES] = matrix.reshape(HEADS, HEAD, WIDTH)
    return paired.reshape(WIDTH, WIDTH) * (HEAD**0.5 if name.endswith("q") else 1.0)


if __name__ == "__main__":
    np.savez_compressed(sys.argv[1], **{name: array.astype(np.float16) for name, array in weights(read_room_encoder()).items()})  # type: ignore[arg-type]
