"""Adjusts a small block again and again, with drawn errors, and stores how its results spread.

Shares nothing with the program: rotations, projection, Brown's distortion and the adjustment (scipy's
least_squares, all unknowns at once, non-linear to the end) are written here. 17 images, nadir and oblique, of 25
points on uneven ground; positions by satellites with a part of each image's own and a part that all have in common;
focal length and k1 are estimated with the block. A test holds the program's covariances against the spread.

    python tests/reference/adjust_block.py tests/reference/network
"""

import sys
from pathlib import Path

import numpy as np
import scipy
from scipy.optimize import least_squares

DRAWS = 600
SEED = 20261126
WIDTH, HEIGHT, FOCAL = 5472, 3648, 3648.0
LENS = dict(k1=-0.05, k2=0.02, k3=-0.003, p1=0.0008, p2=-0.0005)
IMAGE_PX = 0.5
OWN_M = np.array([0.02, 0.02, 0.04])
COMMON_M = np.array([0.015, 0.015, 0.03])
PRIOR_FOCAL_PX, PRIOR_K1 = 50.0, 0.1


def axes(heading_deg, tilt_deg):
    """Camera axes right, down, forward as rows, in east, north, up."""
    h, t = np.radians(heading_deg), np.radians(tilt_deg)
    forward = np.array([np.sin(t) * np.sin(h), np.sin(t) * np.cos(h), -np.cos(t)])
    right = np.array([np.cos(h), -np.sin(h), 0.0])
    return np.array([right, np.cross(forward, right), forward])


def layout():
    """Poses (x, y, z, heading, tilt) and points."""
    nadir = [(x, y, 80.0, 0.0 if x < 0 else 180.0, 0.0) for x in (-25, 25) for y in (-40, -20, 0, 20, 40)]
    nadir += [(0.0, y, 80.0, 90.0, 0.0) for y in (-30, 0, 30)]
    oblique = [(0, -70, 75, 0, 40), (-70, 0, 75, 90, 40), (0, 70, 75, 180, 40), (70, 0, 75, 270, 40)]
    poses = np.array(nadir + [tuple(map(float, o)) for o in oblique])
    grid = np.array([(x, y) for x in np.linspace(-40, 40, 5) for y in np.linspace(-40, 40, 5)])
    height = 4 * np.sin(0.13 * grid[:, 0] + 0.4) + 3 * np.cos(0.09 * grid[:, 1])
    return poses, np.column_stack([grid, height])


def turned(rotations, turns):
    """Rows of axes turned about east, north and up by small angles, exactly (Rodrigues)."""
    angle = np.linalg.norm(turns, axis=1)[:, None, None]
    x, y, z = turns.T
    o = np.zeros_like(x)
    cross = np.array([[o, -z, y], [z, o, -x], [-y, x, o]]).transpose(2, 0, 1)
    safe = np.where(angle > 0, angle, 1.0)
    one = np.where(angle > 0, np.sin(safe) / safe, 1.0)
    two = np.where(angle > 0, (1 - np.cos(safe)) / safe**2, 0.5)
    rotation = np.eye(3) + one * cross + two * (cross @ cross)
    return rotations @ rotation.transpose(0, 2, 1)


def project(rotations, centres, points, focal, k1, image, point):
    d = np.einsum("nij,nj->ni", rotations[image], points[point] - centres[image])
    x, y = d[:, 0] / d[:, 2], d[:, 1] / d[:, 2]
    r2 = x * x + y * y
    radial = 1 + r2 * (k1 + r2 * (LENS["k2"] + r2 * LENS["k3"]))
    p1, p2 = LENS["p1"], LENS["p2"]
    u = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    v = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    centre = np.array([(WIDTH - 1) / 2, (HEIGHT - 1) / 2])
    return centre + focal * np.column_stack([u, v]), d[:, 2]


def main(folder):
    poses, points = layout()
    n, m = len(poses), len(points)
    rotations = np.array([axes(h, t) for h, t in poses[:, 3:]])
    pairs = np.array([(i, p) for i in range(n) for p in range(m)])
    uv, depth = project(rotations, poses[:, :3], points, FOCAL, LENS["k1"], pairs[:, 0], pairs[:, 1])
    inside = (depth > 0) & (uv > 20).all(1) & (uv[:, 0] < WIDTH - 20) & (uv[:, 1] < HEIGHT - 20)
    pairs, true_uv = pairs[inside], uv[inside]
    image, point = pairs.T
    assert np.bincount(point, minlength=m).min() >= 4

    def split(x):
        return (x[: 3 * n].reshape(n, 3), x[3 * n : 6 * n].reshape(n, 3),
                x[6 * n : 6 * n + 3 * m].reshape(m, 3), x[-5:])

    start = np.concatenate([poses[:, :3].ravel(), np.zeros(3 * n), points.ravel(), [FOCAL, LENS["k1"], 0, 0, 0]])
    size = np.concatenate([np.full(3 * n, 0.05), np.full(3 * n, 1e-3), np.full(3 * m, 0.02), [1, 1e-3], COMMON_M])

    def residuals(step, seen, placed, prior):
        centres, turns, at, shared = split(start + size * step)
        uv, _ = project(turned(rotations, turns), centres, at, shared[0], shared[1], image, point)
        return np.concatenate([
            ((uv - seen) / IMAGE_PX).ravel(),
            ((centres + shared[2:] - placed) / OWN_M).ravel(),
            (shared[:2] - prior[:2]) / [PRIOR_FOCAL_PX, PRIOR_K1],
            (shared[2:] - prior[2:]) / COMMON_M,
        ])

    random = np.random.default_rng(SEED)
    found = []
    for _ in range(DRAWS):
        common = random.normal(size=3) * COMMON_M
        seen = true_uv + random.normal(size=true_uv.shape) * IMAGE_PX
        placed = poses[:, :3] + common + random.normal(size=(n, 3)) * OWN_M
        prior = np.concatenate([[FOCAL + random.normal() * PRIOR_FOCAL_PX, LENS["k1"] + random.normal() * PRIOR_K1],
                                np.zeros(3)])
        done = least_squares(residuals, np.zeros_like(start), args=(seen, placed, prior), method="lm", xtol=1e-10)
        assert done.success
        found.append(start + size * done.x)
    found = np.array(found)
    spread = found.std(axis=0, ddof=1)
    _, _, of_points, shared = split(spread)
    dome = [split(x)[2] for x in found]
    corners = [0, 4, 20, 24]
    dome_m = np.std([at[12, 2] - at[corners, 2].mean() for at in dome], ddof=1)

    folder = Path(folder)
    folder.mkdir(exist_ok=True)
    rows = lambda name, head, values, form: np.savetxt(
        folder / name, values, fmt=form, delimiter=",", header=head, comments="")
    rows("images.csv", "x_m,y_m,z_m,heading_deg,tilt_deg", poses, "%.6f")
    rows("points.csv", "x_m,y_m,z_m,spread_x_m,spread_y_m,spread_z_m", np.hstack([points, of_points]), "%.9f")
    rows("rays.csv", "image,point", pairs, "%d")
    rows("shared.csv", "focal_px,k1,dome_m,draws", np.array([[shared[0], shared[1], dome_m, DRAWS]]), "%.9g")
    (folder / "versions.txt").write_text(f"numpy {np.__version__}\nscipy {scipy.__version__}\n")


if __name__ == "__main__":
    main(sys.argv[1])
