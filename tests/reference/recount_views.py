#!/usr/bin/env python3
"""Recounts the views of an exported strategy with general-purpose libraries.

Reads a folder that `obliquity export FILE --strategy NAME --views --out DIR` wrote and works out anew, sharing no
code with the program, from the definitions alone:

- where each sample falls in each image (OpenCV `projectPoints`), and whether that is in the frame;
- whether the sample faces the station, and how slanted the ray is;
- whether a triangle of the scene hides it (Embree through `embreex`, mesh read by `trimesh`);
- its ground sample distance, from OpenCV's own Jacobian of the projection;
- counted views, best GSD, widest intersection, and coverage by linked groups (SciPy connected components).

It compares all of that with what the export says, prints the comparison and, with `--store`, keeps it as JSON.

    python recount_views.py DIR [--store REPORT.json]
"""

import argparse
import csv
import json
import platform
import sys
import time
from importlib.metadata import version
from pathlib import Path

import cv2
import numpy as np
import trimesh
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

RAY_OFFSET_M = 0.01
"""A ray starts this far above the sample, along its normal."""

LIBRARIES = ["numpy", "scipy", "opencv-python-headless", "trimesh", "embreex"]


class Export:
    """The files of one export folder as arrays."""

    def __init__(self, folder):
        folder = Path(folder)
        self.camera = json.loads((folder / "camera.json").read_text())
        stations = read_table(folder / "stations.csv")
        self.keys = [(key, int(index)) for key, index in zip(stations["pass"], stations["index"], strict=True)]
        self.centres = columns(stations, "x_m", "y_m", "z_m")
        self.angles = np.radians(columns(stations, "heading_deg", "tilt_deg", "roll_deg"))
        self.samples = read_table(folder / "samples.csv")
        self.points = columns(self.samples, "x_m", "y_m", "z_m")
        self.normals = columns(self.samples, "nx", "ny", "nz")
        self.surfaces = np.array(self.samples["surface"])
        self.areas = columns(self.samples, "area_m2")[:, 0]
        mesh = trimesh.load(folder / "scene.obj", force="mesh", process=False) if scene_has_faces(folder) else None
        self.triangles = np.zeros((0, 3, 3)) if mesh is None else np.asarray(mesh.triangles, dtype=np.float64)
        self.views = read_views(folder / "views.csv", self.keys, len(self.points))

    def max_gsd_m(self):
        limits = self.camera["max_gsd_cm"]
        return np.array([limits[surface] / 100.0 for surface in self.surfaces])

    def intrinsics(self):
        c = self.camera
        f = c["focal_length_px"]
        return np.array([[f, 0.0, c["cx_px"]], [0.0, f, c["cy_px"]], [0.0, 0.0, 1.0]])


def scene_has_faces(folder):
    return any(line.startswith("f ") for line in (folder / "scene.obj").read_text().splitlines())


def read_table(path):
    with open(path, newline="") as file:
        reader = csv.DictReader(file)
        table = {name: [] for name in reader.fieldnames}
        for row in reader:
            for name, value in row.items():
                table[name].append(value)
    return table


def columns(table, *names):
    return np.array([[float(value) for value in table[name]] for name in names], dtype=np.float64).T


def truth(text):
    return text.strip().lower() in ("1", "true", "yes")


def read_views(path, keys, sample_count):
    """The exported decisions as two sorted arrays: pair numbers (sample * stations + station) and counted or not."""
    number = {key: i for i, key in enumerate(keys)}
    pairs, counted = [], []
    with open(path, newline="") as file:
        for row in csv.DictReader(file):
            station = number[(row["pass"], int(row["index"]))]
            pairs.append(int(row["sample"]) * len(keys) + station)
            counted.append(truth(row["counted"]))
    pairs, counted = np.array(pairs, dtype=np.int64), np.array(counted, dtype=bool)
    order = np.argsort(pairs, kind="stable")
    pairs, counted = pairs[order], counted[order]
    if len(np.unique(pairs)) != len(pairs):
        sys.exit(f"{path}: a pair of sample and station stands there twice")
    if len(pairs) and pairs[-1] >= sample_count * len(keys):
        sys.exit(f"{path}: a sample is not in samples.csv")
    return pairs, counted


def rotation(axis, angle):
    vector = np.zeros(3)
    vector[axis] = angle
    return cv2.Rodrigues(vector)[0]


def camera_from_world(heading, tilt, roll):
    """Rotation into camera axes (x right, y down, z forward), built from elementary rotations.

    A camera that looks straight down with the top of its image to the north is turned clockwise to the heading,
    then lifted by the tilt, then rolled clockwise about its own axis.
    """
    down_north = np.diag([1.0, -1.0, -1.0])
    return (rotation(2, -heading) @ down_north @ rotation(0, tilt) @ rotation(2, roll)).T


def project(points, matrix, centre, intrinsics):
    """Pixel coordinates by OpenCV, and its Jacobian with respect to camera coordinates (n, 2, 3)."""
    rvec = cv2.Rodrigues(matrix)[0]
    if np.abs(cv2.Rodrigues(rvec)[0] - matrix).max() > 1e-9:
        sys.exit("the rotation vector loses the rotation: use a pose a little off")
    tvec = -matrix @ centre
    pixels, jacobian = cv2.projectPoints(points.reshape(-1, 1, 3), rvec, tvec, intrinsics, None)
    return pixels.reshape(-1, 2), jacobian[:, 3:6].reshape(-1, 2, 3)


def tangents(normals):
    """Two unit vectors in each surface's tangent plane."""
    helper = np.where(np.abs(normals[:, :1]) < 0.7, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    first = np.cross(normals, helper)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    return np.stack([first, np.cross(normals, first)], axis=2)


def gsd_m(jacobian, matrix, tangent):
    surface = jacobian @ matrix @ tangent
    return 1.0 / np.sqrt(np.abs(np.linalg.det(surface)))


class Occluder:
    """The scene's triangles in Embree, moved to their middle so that single precision does least harm."""

    def __init__(self, triangles):
        self.empty = len(triangles) == 0
        if self.empty:
            return
        self.middle = triangles.reshape(-1, 3).mean(axis=0)
        self.triangles = triangles
        self.scene = rtcore_scene.EmbreeScene()
        TriangleMesh(self.scene, (triangles - self.middle).astype(np.float32))

    def hidden(self, starts, centre):
        """Whether the open segment from each start to the centre meets a triangle (single precision)."""
        if self.empty or len(starts) == 0:
            return np.zeros(len(starts), dtype=bool)
        rays = centre - starts
        lengths = np.linalg.norm(rays, axis=1)
        first = self.scene.run(
            (starts - self.middle).astype(np.float32),
            (rays / lengths[:, None]).astype(np.float32),
            query="DISTANCE",
        )
        return first < lengths

    def hidden_exactly(self, start, centre):
        """The same for one ray in double precision, against every triangle (Moeller and Trumbore 1997)."""
        if self.empty:
            return False
        ray = centre - start
        corner, first, second = self.triangles[:, 0], self.edges(1), self.edges(2)
        across = np.cross(ray, second)
        det = np.einsum("ij,ij->i", first, across)
        with np.errstate(divide="ignore", invalid="ignore"):
            to_start = start - corner
            u = np.einsum("ij,ij->i", to_start, across) / det
            turned = np.cross(to_start, first)
            v = turned @ ray / det
            t = np.einsum("ij,ij->i", second, turned) / det
            hit = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & (t > 0.0) & (t < 1.0)
        return bool(hit.any())

    def edges(self, corner):
        return self.triangles[:, corner] - self.triangles[:, 0]


def look(export, station, tangent, occluder, limits):
    """What one station has of the samples in its frame that face it: numbers, hidden, counted, GSD, pixels, and how
    near the nearest decision was to going the other way (pixels to the frame's edge)."""
    width, height = export.camera["width_px"], export.camera["height_px"]
    matrix = camera_from_world(*export.angles[station])
    to_camera = export.centres[station] - export.points
    facing = np.einsum("ij,ij->i", to_camera, export.normals)
    near = np.flatnonzero((facing > 0.0) & (to_camera @ matrix[2] < 0.0))
    pixels, jacobian = project(export.points[near], matrix, export.centres[station], export.intrinsics())
    inside = (
        (pixels[:, 0] >= -0.5)
        & (pixels[:, 0] < width - 0.5)
        & (pixels[:, 1] >= -0.5)
        & (pixels[:, 1] < height - 0.5)
    )
    near, pixels, jacobian = near[inside], pixels[inside], jacobian[inside]
    ranges = np.linalg.norm(to_camera[near], axis=1)
    incidence = np.degrees(np.arccos(np.clip(facing[near] / ranges, -1.0, 1.0)))
    gsd = gsd_m(jacobian, matrix, tangent[near])
    starts = export.points[near] + RAY_OFFSET_M * export.normals[near]
    hidden = occluder.hidden(starts, export.centres[station])
    within = (incidence <= export.camera["max_incidence_deg"]) & (gsd <= limits[near])
    return {"samples": near, "pixels": pixels, "hidden": hidden, "counted": within & ~hidden, "within": within,
            "gsd": gsd, "incidence": incidence}


def reduce_sample(rays, gsd, camera):
    """Widest intersection in degrees and coverage of one sample, from its counted views."""
    cosines = np.clip(rays @ rays.T, -1.0, 1.0)
    widest = np.degrees(np.arccos(cosines.min()))
    if len(rays) < camera["min_views"]:
        return widest, False
    linked = cosines >= np.cos(np.radians(camera["max_link_deg"]))
    groups, labels = connected_components(coo_matrix(linked), directed=False)
    apart = np.cos(np.radians(camera["min_intersection_deg"]))
    for group in range(groups):
        members = np.flatnonzero(labels == group)
        if len(members) >= camera["min_views"] and cosines[np.ix_(members, members)].min() <= apart:
            return widest, True
    return widest, False


def recount(export, keep=None):
    """Counts everything anew; `keep` is called with each station and what it has."""
    tangent, limits, occluder = tangents(export.normals), export.max_gsd_m(), Occluder(export.triangles)
    stations = len(export.keys)
    pairs, counted, gsds = [], [], []
    for station in range(stations):
        seen = look(export, station, tangent, occluder, limits)
        pairs.append(seen["samples"].astype(np.int64) * stations + station)
        counted.append(seen["counted"])
        gsds.append(seen["gsd"])
        if keep:
            keep(station, seen)
    pairs, counted, gsds = np.concatenate(pairs), np.concatenate(counted), np.concatenate(gsds)
    order = np.argsort(pairs, kind="stable")
    return occluder, pairs[order], counted[order], gsds[order]


def reduce(export, pairs, counted, gsds):
    """Views, best GSD in cm, widest intersection and coverage of every sample."""
    stations, samples = len(export.keys), len(export.points)
    pairs, gsds = pairs[counted], gsds[counted]
    sample, station = pairs // stations, pairs % stations
    bounds = np.searchsorted(sample, np.arange(samples + 1))
    views = np.diff(bounds)
    best, widest, covered = np.full(samples, np.nan), np.zeros(samples), np.zeros(samples, dtype=bool)
    for i in np.flatnonzero(views):
        mine = slice(bounds[i], bounds[i + 1])
        rays = export.centres[station[mine]] - export.points[i]
        rays /= np.linalg.norm(rays, axis=1, keepdims=True)
        best[i] = gsds[mine].min() * 100.0
        widest[i], covered[i] = reduce_sample(rays, gsds[mine], export.camera)
    return views, best, widest, covered


def compare_decisions(export, occluder, pairs, counted):
    """Pairs of sample and station in both lists or either one, and on how many the two agree.

    A decision is what becomes of a pair: not in the list, listed and not counted, listed and counted. Unlike ones
    are tried again with a ray in double precision, to tell Embree's rounding from the program's.
    """
    theirs, their_counted = export.views
    union = np.union1d(pairs, theirs)
    mine_state, their_state = np.zeros(len(union), dtype=np.int8), np.zeros(len(union), dtype=np.int8)
    mine_state[np.searchsorted(union, pairs)] = 1 + counted
    their_state[np.searchsorted(union, theirs)] = 1 + their_counted
    unlike = np.flatnonzero(mine_state != their_state)
    settled = 0
    for pair in union[unlike]:
        sample, station = divmod(int(pair), len(export.keys))
        start = export.points[sample] + RAY_OFFSET_M * export.normals[sample]
        single = bool(occluder.hidden(start[None], export.centres[station])[0])
        settled += single != occluder.hidden_exactly(start, export.centres[station])
    return {
        "pairs": int(len(union)),
        "counted_here": int(counted.sum()),
        "counted_there": int(their_counted.sum()),
        "listed_only_here": int(len(np.setdiff1d(pairs, theirs))),
        "listed_only_there": int(len(np.setdiff1d(theirs, pairs))),
        "unlike": int(len(unlike)),
        "unlike_by_single_precision_here": int(settled),
        "equal_share": 1.0 - len(unlike) / max(len(union), 1),
    }


def compare_samples(export, views, best, widest, covered):
    there_best = np.array([float(v) if v not in ("", "inf", "nan") else np.nan for v in export.samples["best_gsd_cm"]])
    there_views = np.array([int(v) for v in export.samples["views"]])
    there_widest = np.array([float(v) if v else 0.0 for v in export.samples["max_intersection_deg"]])
    there_covered = np.array([truth(v) for v in export.samples["covered"]])
    same = views == there_views
    both = np.isfinite(best) & np.isfinite(there_best) & same
    relative = np.abs(there_best[both] / best[both] - 1.0)
    return {
        "samples": int(len(views)),
        "equal_views": int(same.sum()),
        "worst_views_difference": int(np.abs(views - there_views).max(initial=0)),
        "best_gsd_missing_on_one_side": int((np.isfinite(best) != np.isfinite(there_best)).sum()),
        "worst_relative_best_gsd_difference": float(relative.max(initial=0.0)),
        "worst_intersection_difference_deg": float(np.abs(widest - there_widest)[same].max(initial=0.0)),
        "unlike_covered": int((covered != there_covered).sum()),
        "covered_share": by_surface(export, covered),
        "covered_share_there": by_surface(export, there_covered),
        "unseen_share": by_surface(export, views == 0),
    }


def by_surface(export, flags):
    return {
        str(surface): float(export.areas[(export.surfaces == surface) & flags].sum()
                            / export.areas[export.surfaces == surface].sum())
        for surface in np.unique(export.surfaces)
    }


def libraries():
    return {"python": platform.python_version(), **{name: version(name) for name in LIBRARIES}}


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("folder", metavar="DIR", help="what `obliquity export --views` wrote")
    parser.add_argument("--store", metavar="FILE", help="keep the report as JSON")
    arguments = parser.parse_args()
    began = time.perf_counter()
    export = Export(arguments.folder)
    read = time.perf_counter()
    occluder, pairs, counted, gsds = recount(export)
    views, best, widest, covered = reduce(export, pairs, counted, gsds)
    done = time.perf_counter()
    report = {
        "libraries": libraries(),
        "stations": len(export.keys),
        "triangles": len(export.triangles),
        "decisions": compare_decisions(export, occluder, pairs, counted),
        "samples": compare_samples(export, views, best, widest, covered),
    }
    text = json.dumps(report, indent=2)
    print(text)
    print(f"read in {read - began:.1f} s, recounted in {done - read:.1f} s", file=sys.stderr)
    if arguments.store:
        Path(arguments.store).write_text(text + "\n")


if __name__ == "__main__":
    main()
