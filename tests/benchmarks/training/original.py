"""The weights of the installed speech model as plain arrays, read out of its own files.

    python tests/benchmarks/training/original.py OUT.npz

Encoder: `c1` conv 1->288 k127 s64, tanh, `g` group norm, `c2` conv 288->576 k7 s3, gelu, `c3` conv 576->288 k3 s2, gelu; `L.0` to `L.5`: `n1` norm,
`a.q a.k a.v a.o` 8 heads of 36 (rotary on the first 32, interleaved), `n2`, `f1` 288->1152 gelu `f2`; `n` norm. Decoder: `d.emb`, `d.L.0` to `d.L.5`:
`n1`, `a.*` the same with a causal mask, `n2`, `x.*` over the encoder's states without rotary, `n3`, `f1` 288->2304 (half of it the gate, silu), `f2`;
`d.n`, `d.out`. Matrices are [out, in], as a linear layer has them. The files hold them in 8 bits a weight, (q - zero point) * scale: what is read
here is what runs.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
from numpy.typing import NDArray
from onnxruntime.tools.ort_format_model.ort_flatbuffers_py.fbs.InferenceSession import InferenceSession

from assistant.hearing.model import installed_folder, read_checked

TYPES = {1: np.float32, 2: np.uint8}


def _tensors(graph: Any) -> dict[str, NDArray[Any]]:
    out = {}
    for i in range(graph.InitializersLength()):
        tensor = graph.Initializers(i)
        if tensor.DataType() in TYPES:
            shape = [tensor.Dims(k) for k in range(tensor.DimsLength())]
            out[tensor.Name().decode()] = np.frombuffer(bytes(tensor.RawDataAsNumpy()), TYPES[tensor.DataType()]).reshape(shape)
    return out


def _matrices(graph: Any, known: dict[str, NDArray[Any]]) -> dict[str, NDArray[np.float32]]:
    """Name of the node that multiplies -> its weights, also inside both branches of the decoder."""
    out: dict[str, NDArray[np.float32]] = {}
    for i in range(graph.NodesLength()):
        node = graph.Nodes(i)
        for k in range(node.InputsLength()):
            name = node.Inputs(k).decode()
            if name.endswith("_quantized") and name in known:
                name = name.removesuffix("_quantized")
                scale, zero = (float(known[f"{name}_{what}"].ravel()[0]) for what in ("scale", "zero_point"))
                out[node.Name().decode()] = (known[f"{name}_quantized"].astype(np.float32) - zero) * scale
        for k in range(node.AttributesLength()):
            inner = node.Attributes(k).G()
            if inner is not None:
                out |= _matrices(inner, known)
    return out


def _read(name: str) -> tuple[dict[str, NDArray[Any]], dict[str, NDArray[np.float32]]]:
    graph = InferenceSession.GetRootAsInferenceSession(read_checked(installed_folder(), name), 0).Model().Graph()
    known = _tensors(graph)
    return known, _matrices(graph, known)


def weights() -> dict[str, NDArray[np.float32]]:
    """Every weight by the names above."""
    plain, many = _read("encoder_model.ort")
    out = {f"c{i}.weight": plain[f"conv{i}.weight_add_tensor"] for i in (1, 2, 3)} | {f"c{i}.bias": plain[f"conv{i}.bias"] for i in (2, 3)}
    out |= {"g.weight": plain["onnx::Mul_2080"].ravel(), "g.bias": plain["onnx::Add_2081"].ravel(), "n.weight": plain["layer_norm.weight"]}
    for i in range(6):
        theirs, ours = f"layers.{i}", f"L.{i}"
        out |= {f"{ours}.a.{c}.weight": many[f"/{theirs}/self_attn/{c}_proj/MatMul_quant"].T for c in "qkvo"}
        out |= {f"{ours}.f{k}.weight": many[f"/{theirs}/mlp/fc{k}/MatMul_quant"].T for k in (1, 2)}
        out |= {f"{ours}.f{k}.bias": plain[f"{theirs}.mlp.fc{k}.bias"] for k in (1, 2)}
        out |= {
            f"{ours}.n1.weight": plain[f"{theirs}.input_layernorm.weight"],
            f"{ours}.n2.weight": plain[f"{theirs}.post_attention_layernorm.weight"],
        }
    plain, many = _read("decoder_model_merged.ort")
    out |= {"d.emb.weight": many["/model/decoder/embed_tokens/Gather"], "d.out.weight": many["/proj_out/MatMul_quant"].T}
    out["d.n.weight"] = plain["model.decoder.norm.weight_merged_0"]
    for i in range(6):
        theirs, ours = f"model.decoder.layers.{i}", f"d.L.{i}"
        for block, short in (("self_attn", "a"), ("encoder_attn", "x")):
            out |= {
                f"{ours}.{short}.{c}.weight": many[
                    f"/{theirs.replace('.layers', '/layers').replace('model.', 'model/')}/{block}/{c}_proj/MatMul_quant"
                ].T
                for c in "qkvo"
            }
        out |= {
            f"{ours}.f{k}.weight": many[f"/{theirs.replace('.layers', '/layers').replace('model.', 'model/')}/mlp/fc{k}/MatMul_quant"].T
            for k in (1, 2)
        }
        out |= {f"{ours}.f{k}.bias": plain[f"{theirs}.mlp.fc{k}.bias_merged_0"] for k in (1, 2)}
        norms = ("input_layernorm", "post_attention_layernorm", "final_layernorm")
        out |= {f"{ours}.n{k}.weight": plain[f"{theirs}.{name}.weight_merged_0"] for k, name in enumerate(norms, 1)}
    return {name: np.ascontiguousarray(array, np.float32) for name, array in out.items()}


if __name__ == "__main__":
    np.savez(sys.argv[1], **weights())
