"""Unpacks what Rob Northen's ProPack packed by its first method, as old adventures keep their speech.

A file: "RNC", 1, sizes unpacked and packed (4 bytes each, high byte first), check sums of both (2 each), a byte, the number of chunks; from byte 18
on bits, low ones first, in 16-bit words, with plain bytes between. Each chunk brings three tables of prefix codes (for how many plain bytes follow,
how far back a copy begins, how long it is), then how many pairs of the one and the other come.
"""

from __future__ import annotations

Table = dict[tuple[int, int], int]


class _Bits:
    """Bits and plain bytes from one row."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at, self.row, self.count = data, 18, int.from_bytes(data[18:20], "little"), 16

    def drop(self, count: int) -> None:
        self.row >>= count
        self.count -= count
        if self.count < 16:
            self.at += 2
            self.row |= int.from_bytes(self.data[self.at : self.at + 2], "little") << self.count
            self.count += 16

    def take(self, count: int) -> int:
        value = self.row & ((1 << count) - 1)
        self.drop(count)
        return value

    def plain(self, count: int) -> bytes:
        """The word read ahead is read again after them."""
        out = self.data[self.at : self.at + count]
        self.at += count
        self.count -= 16
        self.row = self.row & ((1 << self.count) - 1) | int.from_bytes(self.data[self.at : self.at + 2], "little") << self.count
        self.count += 16
        return out

    def table(self) -> Table:
        lengths = [self.take(4) for _ in range(self.take(5))]
        out: Table = {}
        code = 0
        for length in range(1, 17):
            for value, mine in enumerate(lengths):
                if mine == length:
                    out[length, int(f"{code:0{length}b}"[::-1], 2)] = value
                    code += 1
            code <<= 1
        return out

    def number(self, table: Table) -> int:
        for length in range(1, 17):
            value = table.get((length, self.row & ((1 << length) - 1)))
            if value is not None:
                self.drop(length)
                return value if value < 2 else 1 << (value - 1) | self.take(value - 1)
        raise ValueError("not packed by this method, or cut short")


def unpacked(data: bytes) -> bytes:
    """The file as it was. ValueError where the packing is broken."""
    size = int.from_bytes(data[4:8], "big")
    bits, out = _Bits(data), bytearray()
    bits.take(2)
    for _ in range(data[17]):
        plain, back, long = bits.table(), bits.table(), bits.table()
        pairs = bits.take(16)
        for k in range(pairs):
            if count := bits.number(plain):
                out += bits.plain(count)
            if k + 1 < pairs:
                begin, length = len(out) - bits.number(back) - 1, bits.number(long) + 2
                if begin < 0:
                    raise ValueError("a copy from before the beginning")
                piece = bytes(out[begin : begin + length])
                out += (piece * (length // len(piece) + 1))[:length]
    if len(out) != size:
        raise ValueError(f"{len(out)} bytes for {size}")
    return bytes(out)
