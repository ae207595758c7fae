"""Seats a body in a room by general tools: SciPy's L-BFGS-B over Open3D's exact closest points.

seat_peer.py ROOM.stl BODY.stl: the energy is a spring of 1 N/mm at each vertex of the body that lies past the wall, and 50 N of weight at
the mean of the vertices; the start is 8 mm up and 2 degrees about Y. Prints seconds of processor time, energy in N mm, unbalanced force
in N. The sign is that of the angle-weighted pseudonormal. Debian: python3-scipy python3-open3d.
"""
import sys
import time

import numpy as np
import open3d as o3d
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation


def load(path):
    m = o3d.io.read_triangle_mesh(path)
    m.remove_duplicated_vertices()
    return np.asarray(m.vertices), np.asarray(m.triangles)


v, f = load(sys.argv[1])
points, _ = load(sys.argv[2])

normal = np.cross(v[f[:, 1]] - v[f[:, 0]], v[f[:, 2]] - v[f[:, 0]])
normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
at_vertex = np.zeros_like(v)
for k in range(3):
    a, b = v[f[:, (k + 1) % 3]] - v[f[:, k]], v[f[:, (k + 2) % 3]] - v[f[:, k]]
    cos = (a * b).sum(1) / np.maximum(np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1), 1e-300)
    np.add.at(at_vertex, f[:, k], np.arccos(np.clip(cos, -1, 1))[:, None] * normal)
side = {}
for i, t in enumerate(f):
    for k in range(3):
        side.setdefault(frozenset((t[k], t[(k + 1) % 3])), []).append(i)
# at_edge[i, k] is across from corner k
at_edge = np.array([[sum(normal[j] for j in side[frozenset((t[(k + 1) % 3], t[(k + 2) % 3]))]) for k in range(3)] for t in f])

scene = o3d.t.geometry.RaycastingScene()
scene.add_triangles(o3d.core.Tensor(v.astype(np.float32)), o3d.core.Tensor(f.astype(np.uint32)))


def closest(p):
    """Distance past the wall (below 0 inside), closest point."""
    r = scene.compute_closest_points(o3d.core.Tensor(p.astype(np.float32)), 1)
    q, tri, uv = r['points'].numpy().astype(float), r['primitive_ids'].numpy().astype(int), r['primitive_uvs'].numpy()
    w = np.stack([1 - uv[:, 0] - uv[:, 1], uv[:, 0], uv[:, 1]], 1)
    zero = w < 1e-6
    n = normal[tri].copy()
    one = zero.sum(1) == 1
    n[one] = at_edge[tri[one], zero[one].argmax(1)]
    two = zero.sum(1) >= 2
    n[two] = at_vertex[f[tri[two], w[two].argmax(1)]]
    d = p - q
    return np.linalg.norm(d, axis=1) * np.where((d * n).sum(1) > 0, 1, -1), q


centre = points.mean(0)
arms = points - centre
half = 60.0  # mm: moments are counted by it


def energy(x):
    p = Rotation.from_rotvec(x[3:] / half).apply(arms) + centre + x[:3]
    d, q = closest(p)
    past = np.maximum(d, 0)
    force = np.where(past[:, None] > 0, p - q, 0)
    moment = np.cross(p - centre - x[:3], force).sum(0) / half
    return 0.5 * (past ** 2).sum() + 50 * x[2], np.concatenate([force.sum(0) + [0, 0, 50], moment])


began = time.process_time()
r = minimize(energy, np.array([0, 0, 8, 0, np.radians(2) * half, 0]), jac=True, method='L-BFGS-B',
             options={'maxiter': 300, 'ftol': 1e-13, 'gtol': 1e-3})
spent = time.process_time() - began
print(f'{spent:.6g} {r.fun:.6g} {np.linalg.norm(r.jac[:3]):.3g} {r.nfev}')
