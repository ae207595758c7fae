#!/usr/bin/env python3
"""Writes the shapes of the reference tables as binary STL: shapes.py DIR [EXPORT]. Nothing but the standard library.

EXPORT is what `roomcheck export --shoe extra-depth --out EXPORT` wrote: a room and a device of the program itself join
the invented shapes then.

Millimetres; normals point out of a solid and, for what is open, out of the hollow into its wall. Coordinates are
rounded to float32 as the file holds them, and that rounded shape is what both sides measure. The same numbers come out
each time; the last bit of a sine may differ between C libraries, so the files are kept and the tables belong to them.
"""
import math
import struct
import sys
from pathlib import Path


class Uniform:
    """A counter mixed to 53 random bits (Steele, Lea & Flood, Fast splittable pseudorandom number generators, 2014)."""

    def __init__(self, start):
        self.i = start

    def __call__(self):
        self.i += 1
        z = self.i * 0x9E3779B97F4A7C15 & 2**64 - 1
        z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9 & 2**64 - 1
        z = (z ^ z >> 27) * 0x94D049BB133111EB & 2**64 - 1
        return ((z ^ z >> 31) >> 11) * 2.0**-53

    def normal(self):
        return math.sqrt(-2 * math.log(1 - self())) * math.cos(2 * math.pi * self())


def write(path, vertices, faces):
    def single(p):  # as the file holds it, without a negative zero
        return tuple(struct.unpack("<f", struct.pack("<f", c))[0] + 0.0 for c in p)

    v = [single(p) for p in vertices]
    with open(path, "wb") as f:
        f.write(b"invented shape, mm".ljust(80, b"\0"))
        kept = [t for t in faces if len({v[k] for k in t}) == 3]
        f.write(struct.pack("<I", len(kept)))
        for t in kept:
            a, b, c = (v[k] for k in t)
            u, w = [y - x for x, y in zip(a, b)], [y - x for x, y in zip(a, c)]
            n = (u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], u[0] * w[1] - u[1] * w[0])
            size = math.hypot(*n)
            n = [x / size if size else 0.0 for x in n]
            f.write(struct.pack("<12fH", *n, *a, *b, *c, 0))
    print(f"{path.name}: {len(kept)} triangles")


def turned(p, degrees=(20, -35, 50), shift=(12, -7, 31)):
    """p turned about X, then Y, then Z, and moved: no face of a shape keeps to the axes."""
    x, y, z = p
    a, b, c = (math.radians(d) for d in degrees)
    y, z = y * math.cos(a) - z * math.sin(a), y * math.sin(a) + z * math.cos(a)
    x, z = x * math.cos(b) + z * math.sin(b), -x * math.sin(b) + z * math.cos(b)
    x, y = x * math.cos(c) - y * math.sin(c), x * math.sin(c) + y * math.cos(c)
    return x + shift[0], y + shift[1], z + shift[2]


def rings(loops, first=None, last=None):
    """Faces of a closed skin over loops of equally many vertices, with a pole or a flat end before and behind.

    A loop runs counterclockwise seen from its end of the row, the direction in which the loops follow each other.
    """
    n = len(loops[0])
    v = [p for loop in loops for p in loop]
    faces = []
    for i in range(len(loops) - 1):
        for j in range(n):
            a, b = i * n + j, i * n + (j + 1) % n
            faces += [(a, b, b + n), (a, b + n, a + n)]
    for pole, base, order in ((first, 0, 1), (last, (len(loops) - 1) * n, -1)):
        v.append(pole)
        for j in range(n):
            faces.append((len(v) - 1, base + (j + 1) % n, base + j)[::order])
    return v, faces


def block():
    x, y, z = 20, 14, 9
    v = [(i, j, k) for k in (-z, z) for j in (-y, y) for i in (-x, x)]
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    return [turned(p) for p in v], [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]


def circle(r, z, n):
    return [(r * math.cos(2 * math.pi * j / n), r * math.sin(2 * math.pi * j / n), z) for j in range(n)]


def sphere():
    r, n = 25, 40
    angles = [math.pi * i / (n // 2) for i in range(1, n // 2)]
    v, f = rings([circle(r * math.sin(a), -r * math.cos(a), n) for a in angles], (0, 0, -r), (0, 0, r))
    return [turned(p) for p in v], f


def cone():
    """80 mm high, 4 degrees from its axis to its side: a tip as thin as a ground edge."""
    h, n = 80, 48
    base = h * math.tan(math.radians(4))
    levels = [0, 0.25, 0.5, 0.75, 0.9, 0.97, 0.995]
    v, f = rings([circle(base * (1 - s), h * s, n) for s in levels], (0, 0, 0), (0, 0, h))
    return [turned(p) for p in v], f


def loft(along, around, noise=0.0):
    """A hollow as long and as wide as a shoe's, of superellipses with exponent 2.5, blunt at both ends."""
    draw = Uniform(7)

    def spread(p):  # noise is the root mean square of the way a vertex is moved
        return tuple(c + noise / math.sqrt(3) * draw.normal() for c in p) if noise else p

    def power(c):
        return math.copysign(abs(c) ** (2 / 2.5), c)

    loops = []
    for i in range(1, along):
        s = 0.5 * (1 - math.cos(math.pi * i / along))
        end = math.sqrt(1 - abs(2 * s - 1) ** 6)
        w, h = (33 + 14 * s * s) * end, (34 - 16 * s) * end
        angles = [2 * math.pi * j / around for j in range(around)]
        loops.append([spread((280 * s, w * power(math.cos(a)), 45 - 20 * s + h * power(math.sin(a)))) for a in angles])
    return rings(loops, spread((0, 0, 45)), spread((280, 0, 25)))


def trough():
    """120 mm long: a floor, fillets of 8 mm, walls that lean out by 10 degrees; open at the top and at both ends.

    What closes it (the ends, then the lid) follows behind: see the table for the number of faces without it.
    """
    r, half, lean, wall, steps, cells = 8, 22, math.radians(10), 30, 16, 24
    side = [(half, 0.0)]
    for i in range(1, steps + 1):
        a = (math.pi / 2 - lean) * i / steps
        side.append((half + r * math.sin(a), r - r * math.cos(a)))
    for i in range(1, 7):
        side.append((side[steps][0] + wall * i / 6 * math.sin(lean), side[steps][1] + wall * i / 6 * math.cos(lean)))
    profile = [(-y, z) for y, z in side[::-1]] + [(half * k / 3, 0.0) for k in (-2, -1, 0, 1, 2)] + side
    m = len(profile)
    v = [(120 * i / cells, y, z) for i in range(cells + 1) for y, z in profile]
    faces = []
    for i in range(cells):
        for j in range(m - 1):
            a, b = i * m + j, i * m + j + 1
            faces += [(a, b, b + m), (a, b + m, a + m)]
    for row, order in ((0, 1), (cells, -1)):
        v.append((120 * row / cells, 0, 20))
        for j in range(m):
            faces.append((row * m + j, len(v) - 1, row * m + (j + 1) % m)[::order])
    for i in range(cells):
        a, b = i * m + m - 1, i * m
        faces += [(a, b, b + m), (a, b + m, a + m)]
    return v, faces


def blade():
    """A cupped lens 110 by 64 mm, 3 mm thick in the middle, that thins away to nothing all round its rim."""
    rows, n = 12, 72
    v, faces = [], []
    for top in (1, -1):
        start = len(v)
        for i in range(rows + 1):
            for j in range(n):
                q, a = i / rows, 2 * math.pi * j / n
                x, y = 55 * q * math.cos(a), 32 * q * math.sin(a)
                v.append(turned((x, y, 0.004 * x * x + 0.006 * y * y + top * 1.5 * (1 - q * q)), (5, 8, -15)))
        for i in range(rows):
            for j in range(n):
                a, b = start + i * n + j, start + i * n + (j + 1) % n
                for t in ((a, a + n, b + n), (a, b + n, b)):
                    faces.append(t[::top])
    return v, faces


def records(path):
    data = path.read_bytes()
    return [data[i:i + 50] for i in range(84, len(data), 50)]


def room(to, export):
    """The open room's faces first, then those that close it: as in the trough, one file is both."""
    walls = records(export / "room.stl")
    known = {r[12:48] for r in walls}
    lid = [r for r in records(export / "room-closed.stl") if r[12:48] not in known]
    both = b"".join(walls + lid)
    to.write_bytes(b"room, then its lid, mm".ljust(80, b"\0") + struct.pack("<I", len(both) // 50) + both)
    print(f"{to.name}: {len(walls)} triangles and {len(lid)} of the lid")


def main():
    to = Path(sys.argv[1])
    to.mkdir(parents=True, exist_ok=True)
    if len(sys.argv) > 2:
        export = Path(sys.argv[2])
        room(to / "room.stl", export)
        (to / "device.stl").write_bytes((export / "device.stl").read_bytes())
    for name, shape in (
        ("block", block()), ("sphere", sphere()), ("cone", cone()), ("loft", loft(40, 48)),
        ("noisy-loft", loft(50, 96, 0.3)), ("trough", trough()), ("blade", blade()),
    ):
        write(to / f"{name}.stl", *shape)


if __name__ == "__main__":
    main()
