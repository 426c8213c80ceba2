#!/usr/bin/env python3
"""Makes `small/`: a small scene, and what general-purpose libraries say of it, for tests that run without Python.

The scene is made here, not by the program: a sloping ground, an L-shaped shed, a box and a round tower, and stations
that look down, across, level, upward and rolled. Samples on which any decision is near a tie (a point near a frame's
edge, a ray that grazes an edge, an angle near its limit) are left out, so that every stored decision is beyond doubt.

    python make_small.py [DIR]
"""

import csv
import json
import sys
from pathlib import Path

import numpy as np

import recount_views as reference

CAMERA = {
    "width_px": 1344, "height_px": 896, "focal_length_px": 915.0, "cx_px": 671.5, "cy_px": 447.5,
    "max_incidence_deg": 55.0, "max_gsd_cm": {"ground": 9.0, "roof": 9.0, "wall": 14.0},
    "min_views": 3, "min_intersection_deg": 10.0, "max_link_deg": 40.0,
}
SLOPE_EAST, SLOPE_NORTH = 0.03, -0.02
SPACING_M = 6.0
EDGE_PX, ANGLE_DEG, SHARE, SHIFT_M = 0.02, 1e-3, 1e-5, 0.003
PROJECTIONS = 600


def ground_z(x, y):
    return SLOPE_EAST * x + SLOPE_NORTH * y


def ring(count, x, y, radius):
    turns = 2.0 * np.pi * (np.arange(count) + 0.3) / count
    return np.stack([x + radius * np.cos(turns), y + radius * np.sin(turns)], axis=1)


# Each structure: its outline (counter-clockwise), the convex parts that fill it, and the height of its roof.
STRUCTURES = [
    ([(-38, -22), (4, -30), (6.2, -18.2), (-20.9, -13), (-18.6, -1.2), (-33.4, 1.6)],
     [[(-38, -22), (4, -30), (6.2, -18.2), (-35.6925, -10.1615)],
      [(-35.6925, -10.1615), (-20.9, -13), (-18.6, -1.2), (-33.4, 1.6)]],
     11.0),
    ([(22, 8), (41, 14), (36, 31), (16, 25)], [[(22, 8), (41, 14), (36, 31), (16, 25)]], 19.0),
    (ring(14, -14.0, 34.0, 8.5), [ring(14, -14.0, 34.0, 8.5)], 30.0),
]


def inside(points, outline):
    outline = np.asarray(outline, dtype=float)
    result = np.zeros(len(points), dtype=bool)
    for (x0, y0), (x1, y1) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        crosses = (y0 > points[:, 1]) != (y1 > points[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            result ^= crosses & (points[:, 0] < (x1 - x0) * (points[:, 1] - y0) / (y1 - y0) + x0)
    return result


def lattice(low, high, step):
    count = max(1, round((high - low) / step))
    return low + (np.arange(count) + 0.5) * (high - low) / count


def heights(outline, height):
    outline = np.asarray(outline, dtype=float)
    ground = ground_z(outline[:, 0], outline[:, 1])
    return ground.min(), ground.mean() + height


def make_samples():
    """Rows of surface, face, point, normal: a face is what lies in one plane."""
    rows, face = [], 0
    x, y = (axis.ravel() for axis in np.meshgrid(lattice(-60, 60, 10.0), lattice(-60, 60, 10.0)))
    free = ~np.any([inside(np.stack([x, y], axis=1), outline) for outline, _, _ in STRUCTURES], axis=0)
    normal = np.array([-SLOPE_EAST, -SLOPE_NORTH, 1.0])
    normal /= np.linalg.norm(normal)
    rows += [("ground", face, (px, py, ground_z(px, py)), normal) for px, py in zip(x[free], y[free], strict=True)]
    for outline, _, height in STRUCTURES:
        outline = np.asarray(outline, dtype=float)
        _, top = heights(outline, height)
        face += 1
        x, y = (axis.ravel() for axis in np.meshgrid(*(
            lattice(outline[:, k].min(), outline[:, k].max(), SPACING_M) for k in range(2))))
        on = inside(np.stack([x, y], axis=1), outline)
        rows += [("roof", face, (px, py, top), np.array([0.0, 0.0, 1.0])) for px, py in zip(x[on], y[on], strict=True)]
        for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            face += 1
            side = end - start
            out = np.array([side[1], -side[0], 0.0]) / np.linalg.norm(side)
            for share in lattice(0.0, 1.0, SPACING_M / np.linalg.norm(side)):
                px, py = start + share * side
                base = ground_z(px, py)
                rows += [("wall", face, (px, py, pz), out) for pz in lattice(base, top, SPACING_M)]
    return rows


def make_stations():
    """Rows of pass, index, centre, heading, tilt, roll in degrees."""
    rng = np.random.default_rng(20)
    rows = []
    grid = [(x, y) for y in np.linspace(-55, 55, 4) for x in np.linspace(-55, 55, 5)]
    for index, (x, y) in enumerate(grid):
        rows.append((1, index, (x, y, 58.0), 90.0 if (index // 5) % 2 == 0 else 270.0, 0.0, 0.0))
    for number, azimuth in enumerate((14.0, 104.0, 194.0, 284.0)):
        back = 50.0 * np.array([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))])
        for index, (x, y) in enumerate([(x, y) for y in (-40, 0, 40) for x in (-45, -15, 15, 45)]):
            rows.append((2 + number, index, (x - back[0], y - back[1], 52.0), azimuth, 45.0, 0.0))
    for index in range(16):
        azimuth = index * 22.5 + rng.uniform(-4, 4)
        away = np.radians(azimuth + 180.0)
        x, y = 62.0 * np.sin(away), 62.0 * np.cos(away)
        rows.append((6, index, (x, y, 14.0 + ground_z(x, y)), azimuth, rng.uniform(74, 92), rng.uniform(-8, 8)))
    for index in range(16):
        x, y = rng.uniform(-50, 50, 2)
        rows.append((7, index, (x, y, rng.uniform(38, 70)), rng.uniform(0, 360), rng.uniform(5, 60), rng.uniform(-15, 15)))
    for index, (x, y, heading) in enumerate([(30, -8, 5), (-8, 14, 340), (-50, -6, 110), (10, 45, 270)]):
        rows.append((8, index, (x, y, 3.0 + ground_z(x, y)), heading, 112.0, 2.0))
    return rows


def write_csv(path, header, rows):
    with open(path, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def fan(points):
    return [(0, i, i + 1) for i in range(1, len(points) - 1)]


def write_scene(path):
    """Walls and roofs as triangles; roofs are fans over the convex parts."""
    vertices, faces = [], []

    def add(corners, triangles):
        first = len(vertices) + 1
        vertices.extend(corners)
        faces.extend([tuple(first + i for i in t) for t in triangles])

    for outline, parts, height in STRUCTURES:
        bottom, top = heights(outline, height)
        for a, b in zip(outline, np.roll(np.asarray(outline, dtype=float), -1, axis=0), strict=True):
            add([(*a, bottom), (*b, bottom), (*b, top), (*a, top)], [(0, 1, 2), (0, 2, 3)])
        for part in parts:
            add([(*corner, top) for corner in part], fan(part))
    lines = [f"v {x:.6f} {y:.6f} {z:.6f}" for x, y, z in vertices] + [f"f {a} {b} {c}" for a, b, c in faces]
    path.write_text("\n".join(lines) + "\n")


def write_prisms(path):
    rows, number = [], 0
    for outline, parts, height in STRUCTURES:
        bottom, top = heights(outline, height)
        for part in parts:
            rows += [(number, f"{bottom:.6f}", f"{top:.6f}", f"{x:.6f}", f"{y:.6f}") for x, y in part]
            number += 1
    write_csv(path, ["prism", "bottom_m", "top_m", "x_m", "y_m"], rows)


def write_inputs(folder, samples):
    (folder / "camera.json").write_text(json.dumps(CAMERA, indent=2) + "\n")
    write_scene(folder / "scene.obj")
    write_prisms(folder / "prisms.csv")
    write_csv(folder / "stations.csv",
              ["pass", "index", "time_s", "x_m", "y_m", "z_m", "heading_deg", "tilt_deg", "roll_deg"],
              [(p, i, "0", *(f"{v:.6f}" for v in (*c, h, t, r))) for p, i, c, h, t, r in make_stations()])
    write_csv(folder / "samples.csv",
              ["sample", "surface", "face", "x_m", "y_m", "z_m", "nx", "ny", "nz", "area_m2"],
              [(i, s, f, *(f"{v:.6f}" for v in p), *(f"{v:.12f}" for v in n), "1")
               for i, (s, f, p, n) in enumerate(samples)])
    write_csv(folder / "views.csv", ["sample", "pass", "index", "counted"], [])


def doubtful(export):
    """Samples with a decision near a tie."""
    occluder, tangent, limits = reference.Occluder(export.triangles), reference.tangents(export.normals), export.max_gsd_m()
    bad = np.zeros(len(export.points), dtype=bool)
    for station, centre in enumerate(export.centres):
        matrix = reference.camera_from_world(*export.angles[station])
        away = centre - export.points
        ranges = np.linalg.norm(away, axis=1)
        grazing = np.degrees(np.arcsin(np.einsum("ij,ij->i", away, export.normals) / ranges))
        depth = -(away @ matrix[2])
        ahead = np.flatnonzero((depth > 0.01) & (grazing > -ANGLE_DEG))
        bad[np.abs(depth) <= 0.01] = True
        pixels, _ = reference.project(export.points[ahead], matrix, centre, export.intrinsics())
        size = np.array([CAMERA["width_px"], CAMERA["height_px"]])
        beyond = np.maximum(-0.5 - pixels, pixels - (size - 0.5)).max(axis=1)
        bad[ahead[np.abs(beyond) < EDGE_PX]] = True
        framed = ahead[beyond < 0.0]
        bad[framed[grazing[framed] < ANGLE_DEG]] = True
        seen = reference.look(export, station, tangent, occluder, limits)
        mine = seen["samples"]
        near = (np.abs(seen["incidence"] - CAMERA["max_incidence_deg"]) < ANGLE_DEG) | (
            np.abs(seen["gsd"] / limits[mine] - 1.0) < SHARE)
        for sign in (-1.0, 1.0):
            for k in range(2):
                starts = export.points[mine] + reference.RAY_OFFSET_M * export.normals[mine]
                starts = starts + sign * SHIFT_M * tangent[mine][:, :, k]
                near |= occluder.hidden(starts, centre) != seen["hidden"]
        bad[mine[near]] = True
    return bad


def write_results(folder, export, samples):
    grid = np.full((len(samples), len(export.keys)), ".", dtype="<U1")
    projections = []

    def keep(station, seen):
        mine = seen["samples"]
        grid[mine, station] = np.where(seen["hidden"], "h", np.where(seen["counted"], "c", "v"))
        projections.extend((int(s), station, u, v, g * 100.0)
                           for s, (u, v), g in zip(mine, seen["pixels"], seen["gsd"], strict=True))

    _, pairs, counted, gsds = reference.recount(export, keep)
    views, best, widest, covered = reference.reduce(export, pairs, counted, gsds)
    (folder / "decisions.txt").write_text("\n".join("".join(row) for row in grid) + "\n")
    chosen = np.random.default_rng(5).choice(len(projections), PROJECTIONS, replace=False)
    write_csv(folder / "projections.csv", ["sample", "station", "u_px", "v_px", "gsd_cm"],
              [(s, k, f"{u:.6f}", f"{v:.6f}", f"{g:.9f}") for s, k, u, v, g in (projections[i] for i in sorted(chosen))])
    write_csv(folder / "results.csv", ["sample", "views", "best_gsd_cm", "max_intersection_deg", "covered"],
              [(i, views[i], "" if np.isnan(best[i]) else f"{best[i]:.9f}", f"{widest[i]:.6f}", int(covered[i]))
               for i in range(len(samples))])
    (folder / "versions.json").write_text(json.dumps(reference.libraries(), indent=2) + "\n")
    marks, counts = np.unique(grid, return_counts=True)
    print(len(samples), "samples,", len(export.keys), "stations,", dict(zip(marks.tolist(), counts.tolist(), strict=True)))
    print("covered", {s: round(v, 3) for s, v in reference.by_surface(export, covered).items()})


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else Path(__file__).parent / "small")
    folder.mkdir(exist_ok=True)
    samples = make_samples()
    write_inputs(folder, samples)
    bad = doubtful(reference.Export(folder))
    print(int(bad.sum()), "of", len(samples), "samples left out as doubtful")
    samples = [sample for sample, doubt in zip(samples, bad, strict=True) if not doubt]
    write_inputs(folder, samples)
    write_results(folder, reference.Export(folder), samples)
    (folder / "views.csv").unlink()


if __name__ == "__main__":
    main()
