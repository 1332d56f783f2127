"""Makes the encoder file that the program carries out of trained weights.

    pip install --group training
    python tests/benchmarks/training/export_encoder.py OUT.onnx SHARE=WEIGHTS.npz ...

The one in use: 0.1025 of the original, 0.2975 of a ninth training, 0.6 of a tenth (train_encoder.py says what each heard). WEIGHTS: an
.npz of arrays under the names of train_encoder.py and original.py (`c1` `g` `c2` `c3`, layers `L.0` to `L.5` with `n1` `a.q` `a.k` `a.v` `a.o` `n2`
`f1` `f2`, `n`; weights as PyTorch has them, out x in); the file is made of their sum, each times its share. OUT: `input_values` [1, samples] ->
`last_hidden_state` [1, S, 288], input and output of the original encoder without its mask. The network is written out here operator by operator, so
nothing but these arrays and `onnx` is needed. Prints the file's SHA-256 (to be put into hearing/model.py) and how far the file's output lies from
the same network computed in numpy.

Two liberties that change nothing: rotary pairs are laid out half and half (queries and keys permuted alike), and the scale of the scores sits in the
queries' weights. Matrices are kept in 8 bits, one scale a column, and multiplied so (inputs are quantised as they come); convolutions are kept in 16
bits and computed in 32.
"""

from __future__ import annotations

import argparse
import hashlib
import math
import tempfile
from pathlib import Path

import numpy as np
import onnx
import onnxruntime
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper
from onnxruntime.quantization import QuantType, quantize_dynamic

WIDTH, HEADS, HEAD, LAYERS = 288, 8, 36, 6
TURNED = 32
"""So many of a head's 36 numbers are turned by their place; base 10,000, neighbours paired."""
LONGEST = 400
"""Hidden states for which angles are kept: more than the decoder takes (384)."""
HALVES = [*range(0, TURNED, 2), *range(1, TURNED, 2), *range(TURNED, HEAD)]
"""A head's numbers, first of each pair, second of each pair, the rest."""

Weights = dict[str, NDArray[np.float32]]


def angles(length: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Cosines and sines, [length, 16], of place * 10000^(-k/16)."""
    turn = np.outer(np.arange(length), 10_000.0 ** (-np.arange(0, TURNED, 2) / TURNED))
    return np.cos(turn).astype(np.float32), np.sin(turn).astype(np.float32)


class Writer:
    """The graph as it is written down."""

    def __init__(self) -> None:
        self.nodes: list[onnx.NodeProto] = []
        self.kept: list[onnx.TensorProto] = []

    def keep(self, name: str, value: NDArray[np.generic]) -> str:
        """An array of the file."""
        self.kept.append(numpy_helper.from_array(np.ascontiguousarray(value), name))
        return name

    def half(self, name: str, value: NDArray[np.float32]) -> str:
        """An array in 16 bits, made 32 as the file is loaded."""
        return self.do("Cast", self.keep(f"{name}.half", value.astype(np.float16)), name=name, to=TensorProto.FLOAT)

    def do(self, kind: str, *inputs: str, name: str = "", outputs: int = 1, **how: object) -> str:
        """One operator; gives its output's name (the first one's, if there are several: the others end in .1, .2)."""
        out = name or f"{kind.lower()}_{len(self.nodes)}"
        names = [out, *(f"{out}.{k}" for k in range(1, outputs))]
        self.nodes.append(helper.make_node(kind, list(inputs), names, name=out, **how))
        return out


def graph(w: Weights) -> onnx.ModelProto:
    """The encoder."""
    g = Writer()
    numbers = {
        n: g.keep(f"int_{n}", np.array(v, np.int64)) for n, v in (("all", [1, 1, -1]), ("heads", [1, -1, HEADS, HEAD]), ("flat", [1, -1, WIDTH]))
    }
    numbers |= {f"at{n}": g.keep(f"int_at{n}", np.array([n], np.int64)) for n in (0, 1)}
    parts = g.keep("int_parts", np.array([TURNED // 2, TURNED // 2, HEAD - TURNED], np.int64))

    x = g.do("Unsqueeze", "input_values", numbers["at1"])
    x = g.do("Tanh", g.do("Conv", x, g.half("c1", w["c1.weight"]), strides=[64]))
    shape = g.do("Shape", x)
    one, none = g.keep("one", np.ones(1, np.float32)), g.keep("none", np.zeros(1, np.float32))
    x = g.do("Reshape", g.do("InstanceNormalization", g.do("Reshape", x, numbers["all"]), one, none, epsilon=1e-5), shape)
    x = g.do("Add", g.do("Mul", x, g.keep("g.weight", w["g.weight"][:, None])), g.keep("g.bias", w["g.bias"][:, None]))
    x = g.do("Gelu", g.do("Conv", x, g.half("c2", w["c2.weight"]), g.keep("c2.bias", w["c2.bias"]), strides=[3]))
    x = g.do("Gelu", g.do("Conv", x, g.half("c3", w["c3.weight"]), g.keep("c3.bias", w["c3.bias"]), strides=[2]))
    x = g.do("Transpose", x, perm=[0, 2, 1])

    length = g.do("Gather", g.do("Shape", x), numbers["at1"], axis=0)
    cosines, sines = angles(LONGEST)
    cos, sin = (
        g.do("Slice", g.keep(name, table[None, :, None, :]), numbers["at0"], length, numbers["at1"])
        for name, table in (("cos", cosines), ("sin", sines))
    )

    def turned(y: str) -> str:
        a = g.do("Split", y, parts, axis=3, outputs=3)
        first = g.do("Sub", g.do("Mul", a, cos), g.do("Mul", f"{a}.1", sin))
        second = g.do("Add", g.do("Mul", f"{a}.1", cos), g.do("Mul", a, sin))
        return g.do("Concat", first, second, f"{a}.2", axis=3)

    def norm(y: str, name: str) -> str:
        return g.do("LayerNormalization", y, g.keep(f"{name}.weight", w[f"{name}.weight"]), axis=-1, epsilon=1e-5)

    def times(y: str, name: str, matrix: NDArray[np.float32]) -> str:
        return g.do("MatMul", y, g.keep(name, matrix.T))

    for layer in range(LAYERS):
        n = f"L.{layer}"
        y = norm(x, f"{n}.n1")
        split = {k: g.do("Reshape", times(y, f"{n}.a.{k}", projection(w, n, k)), numbers["heads"]) for k in "qkv"}
        queries = g.do("Transpose", turned(split["q"]), perm=[0, 2, 1, 3])
        keys = g.do("Transpose", turned(split["k"]), perm=[0, 2, 3, 1])
        values = g.do("Transpose", split["v"], perm=[0, 2, 1, 3])
        looked = g.do("MatMul", g.do("Softmax", g.do("MatMul", queries, keys), axis=-1), values)
        looked = g.do("Reshape", g.do("Transpose", looked, perm=[0, 2, 1, 3]), numbers["flat"])
        x = g.do("Add", x, times(looked, f"{n}.a.o", w[f"{n}.a.o.weight"]))
        y = g.do("Add", times(norm(x, f"{n}.n2"), f"{n}.f1", w[f"{n}.f1.weight"]), g.keep(f"{n}.f1.bias", w[f"{n}.f1.bias"]))
        y = g.do("Add", times(g.do("Gelu", y), f"{n}.f2", w[f"{n}.f2.weight"]), g.keep(f"{n}.f2.bias", w[f"{n}.f2.bias"]))
        x = g.do("Add", x, y)
    g.do("LayerNormalization", x, g.keep("n.weight", w["n.weight"]), axis=-1, epsilon=1e-5, name="last_hidden_state")

    inputs = [helper.make_tensor_value_info("input_values", TensorProto.FLOAT, [1, "samples"])]
    outputs = [helper.make_tensor_value_info("last_hidden_state", TensorProto.FLOAT, [1, "states", WIDTH])]
    # version 20 has Gelu; IR version 9 goes with it, so that older runtimes read the file
    model = helper.make_model(
        helper.make_graph(g.nodes, "encoder", inputs, outputs, g.kept), opset_imports=[helper.make_opsetid("", 20)], ir_version=9
    )
    onnx.checker.check_model(model, full_check=True)
    return model


def projection(w: Weights, layer: str, which: str) -> NDArray[np.float32]:
    """Weights of queries, keys or values; of the first two each head in halves, the queries scaled."""
    matrix = w[f"{layer}.a.{which}.weight"]
    if which == "v":
        return matrix
    halved = matrix.reshape(HEADS, HEAD, WIDTH)[:, HALVES].reshape(WIDTH, WIDTH)
    return halved * HEAD**-0.5 if which == "q" else halved


def in_numpy(w: Weights, samples: NDArray[np.float32]) -> NDArray[np.float64]:
    """The same network as its paper has it, neighbours paired, nothing quantised: what the file is compared with."""
    erf = np.vectorize(math.erf)

    def gelu(y: NDArray[np.float64]) -> NDArray[np.float64]:
        return y * 0.5 * (1 + erf(y / math.sqrt(2)))

    def conv(y: NDArray[np.float64], name: str, stride: int) -> NDArray[np.float64]:
        kernel = w[f"{name}.weight"]
        seen = np.lib.stride_tricks.sliding_window_view(y, kernel.shape[2], axis=1)[:, ::stride]
        return np.einsum("itk,oik->ot", seen, kernel, optimize=True) + (w[f"{name}.bias"][:, None] if f"{name}.bias" in w else 0.0)

    def norm(y: NDArray[np.float64], name: str) -> NDArray[np.float64]:
        return (y - y.mean(-1, keepdims=True)) / np.sqrt(y.var(-1, keepdims=True) + 1e-5) * w[f"{name}.weight"]

    y = np.tanh(conv(samples[None].astype(np.float64), "c1", 64))
    y = (y - y.mean()) / np.sqrt(y.var() + 1e-5) * w["g.weight"][:, None] + w["g.bias"][:, None]
    x = gelu(conv(gelu(conv(y, "c2", 3)), "c3", 2)).T
    cos, sin = (np.repeat(table, 2, axis=1)[:, None] for table in angles(len(x)))

    def turned(y: NDArray[np.float64]) -> NDArray[np.float64]:
        pair = y[..., :TURNED]
        swapped = np.stack((-pair[..., 1::2], pair[..., 0::2]), -1).reshape(pair.shape)
        return np.concatenate((pair * cos + swapped * sin, y[..., TURNED:]), -1)

    for layer in range(LAYERS):
        n = f"L.{layer}"
        q, k, v = (((norm(x, f"{n}.n1")) @ w[f"{n}.a.{p}.weight"].T).reshape(-1, HEADS, HEAD) for p in "qkv")
        scores = np.einsum("qhd,khd->hqk", turned(q), turned(k)) * HEAD**-0.5
        shares = np.exp(scores - scores.max(-1, keepdims=True))
        looked = np.einsum("hqk,khd->qhd", shares / shares.sum(-1, keepdims=True), v).reshape(-1, WIDTH)
        x = x + looked @ w[f"{n}.a.o.weight"].T
        x = x + gelu(norm(x, f"{n}.n2") @ w[f"{n}.f1.weight"].T + w[f"{n}.f1.bias"]) @ w[f"{n}.f2.weight"].T + w[f"{n}.f2.bias"]
    return norm(x, "n")


def mixed(parts: list[tuple[float, Path]]) -> Weights:
    """The sum of the encoders' weights, each times its share."""
    w: Weights = {}
    for share, path in parts:
        with np.load(path) as arrays:
            for name in arrays.files:
                if not name.startswith("d."):
                    w[name] = w.get(name, np.float32(0)) + np.float32(share) * arrays[name].astype(np.float32)
    return w


def export(w: Weights, out: Path) -> float:
    """Write the file; gives how far its output lies from numpy's on two seconds of noise, as a share of its size."""
    with tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "encoder.onnx"
        onnx.save(graph(w), whole)
        quantize_dynamic(whole, out, op_types_to_quantize=["MatMul"], per_channel=True, weight_type=QuantType.QUInt8)
    sound = np.random.default_rng(0).normal(0.0, 0.05, 32_000).astype(np.float32)
    (heard,) = onnxruntime.InferenceSession(str(out), providers=["CPUExecutionProvider"]).run(None, {"input_values": sound[None]})
    wanted = in_numpy(w, sound)
    return float(np.linalg.norm(heard[0] - wanted) / np.linalg.norm(wanted))


def main() -> None:
    """Export, print what to write down."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("weights", nargs="+", help="SHARE=WEIGHTS.npz")
    chosen = parser.parse_args()
    parts = [(float(share), Path(path)) for share, _, path in (part.partition("=") for part in chosen.weights)]
    if abs(sum(share for share, _ in parts) - 1) > 1e-6:
        parser.error("the shares must add up to 1")
    apart = export(mixed(parts), chosen.out)
    data = chosen.out.read_bytes()
    print(f"{chosen.out}: {len(data) / 1e6:.1f} MB, {100 * apart:.1f} % from the unquantised network\nSHA-256 {hashlib.sha256(data).hexdigest()}")


if __name__ == "__main__":
    main()
