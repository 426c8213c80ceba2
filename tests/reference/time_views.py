#!/usr/bin/env python3
"""Works the bench's scene out with NumPy, trimesh and Embree, timed, and compares it with the program.

The bench calls it (`cargo bench -p obliquity-planning --bench views -- against_reference`) with a folder that holds the
scene as plain arrays: samples, stations, triangles, and what the program made of them. The way is the one that these
libraries suggest: a loop over the stations, and in it whole arrays of samples.

1. candidates: samples that face the station and fall in its frame (one matrix product for all samples);
2. hiding: Embree's occlusion query for the candidates, each ray as long as its way to the station;
3. limits: incidence and GSD of what is seen, counts, best GSD, view-angle rose;
4. coverage: widest intersection and linked groups, in batches of samples with equally many counted views.

    python time_views.py DIR
"""

import json
import os
import sys
import time
from importlib.metadata import version
from pathlib import Path

# products of 3 × 3 by 3 × n are over before a second thread wakes up
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import trimesh
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

RAY_OFFSET_M = 0.01
RING_ENDS_DEG = [15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 135.0, 150.0, 165.0]
SECTORS, RINGS, CLASSES, WALL = 12, 10, 4, 2
BATCH_CELLS = 4_000_000
HIDDEN, SEEN, COUNTED = 0, 1, 2
LEAST_EQUAL_SHARE = 0.9999


class Scene:
    """The folder's arrays, and the mesh in Embree."""

    def __init__(self, folder):
        self.told = json.loads((folder / "scene.json").read_text())
        samples = np.fromfile(folder / "samples.f64").reshape(-1, 9)
        self.points, self.normals = samples[:, 0:3].copy(), samples[:, 3:6].copy()
        self.areas, self.surfaces, self.max_gsd_m = samples[:, 6].copy(), samples[:, 7].astype(int), samples[:, 8].copy()
        stations = np.fromfile(folder / "stations.f64").reshape(-1, 5)
        self.centres, self.headings, self.tilts = stations[:, 0:3].copy(), stations[:, 3], stations[:, 4]
        corners = np.fromfile(folder / "triangles.f64").reshape(-1, 3)
        mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
        self.middle = mesh.vertices.mean(axis=0)
        self.embree = rtcore_scene.EmbreeScene()
        TriangleMesh(self.embree, (mesh.triangles - self.middle).astype(np.float32))
        self.starts = self.points + RAY_OFFSET_M * self.normals
        self.points_across = np.ascontiguousarray(self.points.T)
        self.along, self.minus_depth = np.empty_like(self.points_across), np.empty(len(self.points))

    def axes(self, station):
        """Right, down and forward of a station's camera."""
        h, t = self.headings[station], self.tilts[station]
        right = [np.cos(h), -np.sin(h), 0.0]
        up = [np.cos(t) * np.sin(h), np.cos(t) * np.cos(h), np.sin(t)]
        return np.array([right, np.negative(up), [np.sin(t) * np.sin(h), np.sin(t) * np.cos(h), -np.cos(t)]])

    def candidates(self, station):
        """Samples in the frame that face the station, with their rays, depths and distances from its plane."""
        axes = self.axes(station)
        half_x, half_y = (self.told[size] / 2.0 / self.told["focal_px"] for size in ("width_px", "height_px"))
        # scaled so that the frame is where both coordinates are smaller than the depth; no new arrays but of flags
        scaled = axes / [[half_x], [half_y], [1.0]]
        x, y, z = np.matmul(scaled, self.points_across, out=self.along)
        self.along -= (scaled @ self.centres[station])[:, None]
        back = np.negative(z, out=self.minus_depth)
        inside = np.flatnonzero((x >= back) & (x < z) & (y >= back) & (y < z))
        rays = self.centres[station] - self.points[inside]
        facing = np.einsum("ij,ij->i", rays, self.normals[inside])
        keep = facing > 0.0
        return inside[keep], rays[keep], z[inside[keep]], facing[keep]

    def hidden(self, samples, station):
        starts = self.starts[samples]
        rays = self.centres[station] - starts
        lengths = np.linalg.norm(rays, axis=1)
        hit = self.embree.run(
            (starts - self.middle).astype(np.float32),
            (rays / lengths[:, None]).astype(np.float32),
            dists=lengths.astype(np.float32),
            query="OCCLUDED",
        )
        return hit >= 0


class Clock:
    """Seconds spent in each part, by the clock and of the processor."""

    def __init__(self):
        self.spent, self.last = {}, self.now()

    @staticmethod
    def now():
        return np.array([time.perf_counter(), time.process_time()])

    def lap(self, part):
        now = self.now()
        self.spent[part] = self.spent.get(part, 0.0) + now - self.last
        self.last = now


def bins_of(scene, samples, directions):
    """Number of the rose's bin of each direction."""
    zero = np.where((scene.surfaces[samples] == WALL)[:, None], scene.normals[samples, :2], [[0.0, 1.0]])
    ahead = (directions[:, :2] * zero).sum(axis=1)
    right = directions[:, 0] * zero[:, 1] - directions[:, 1] * zero[:, 0]
    sector = (np.degrees(np.arctan2(right, ahead)) % 360.0 / 30.0).astype(int) % SECTORS
    ring = np.searchsorted(-np.cos(np.radians(RING_ENDS_DEG)), -directions[:, 2], side="right")
    return (scene.surfaces[samples] * RINGS + ring) * SECTORS + sector


def look(scene, clock):
    """Everything station by station: the candidates and what becomes of them, counts, best GSD, rose, counted rays."""
    told, n = scene.told, len(scene.points)
    best, rose = np.full(n, np.inf), np.zeros(CLASSES * RINGS * SECTORS)
    pairs, states, kept, rays_kept = [], [], [], []
    least_cosine = np.cos(told["max_incidence_rad"])
    clock.lap("begin")
    for station in range(len(scene.centres)):
        samples, rays, depth, facing = scene.candidates(station)
        clock.lap("candidates")
        state = np.where(scene.hidden(samples, station), HIDDEN, SEEN)
        clock.lap("hiding")
        seen = state == SEEN
        mine, rays, depth, facing = samples[seen], rays[seen], depth[seen], facing[seen]
        ranges = np.linalg.norm(rays, axis=1)
        gsd = np.sqrt(depth**3 / facing) / told["focal_px"]
        counts = (facing >= least_cosine * ranges * (1.0 - 1e-6)) & (gsd <= scene.max_gsd_m[mine] * (1.0 + 1e-6))
        state[np.flatnonzero(seen)[counts]] = COUNTED
        mine, directions = mine[counts], rays[counts] / ranges[counts, None]
        best[mine] = np.minimum(best[mine], gsd[counts])
        rose += np.bincount(bins_of(scene, mine, directions), weights=scene.areas[mine], minlength=len(rose))
        kept.append(mine)
        rays_kept.append(directions.astype(np.float32))
        pairs.append(samples * len(scene.centres) + station)
        states.append(state.astype(np.uint8))
        clock.lap("limits")
    return best, rose, np.concatenate(kept), np.concatenate(rays_kept), np.concatenate(pairs), np.concatenate(states)


def coverage(scene, kept, rays):
    """Widest intersection and coverage of every sample."""
    told, n = scene.told, len(scene.points)
    views = np.bincount(kept, minlength=n)
    rays = rays[np.argsort(kept, kind="stable")]
    first = np.concatenate([[0], np.cumsum(views)[:-1]])
    widest, covered = np.zeros(n), np.zeros(n, dtype=bool)
    apart, linked = np.cos(told["min_intersection_rad"] * (1.0 - 1e-6)), np.cos(told["max_link_rad"] * (1.0 + 1e-6))
    for count in np.unique(views[views > 1]):
        samples = np.flatnonzero(views == count)
        for part in np.array_split(samples, max(1, len(samples) * count * count // BATCH_CELLS)):
            mine = rays[first[part][:, None] + np.arange(count)]
            cosines = mine @ mine.transpose(0, 2, 1)
            widest[part] = np.arccos(np.clip(cosines.min(axis=(1, 2)), -1.0, 1.0))
            if count >= told["min_views"]:
                covered[part] = grouped(cosines, linked, apart, told["min_views"])
    return views, widest, covered


def grouped(cosines, linked, apart, min_views):
    """Whether some linked group of each sample is large enough and holds two rays far enough apart."""
    near = cosines >= linked
    left, found = np.ones(cosines.shape[:2], dtype=bool), np.zeros(len(cosines), dtype=bool)
    todo = np.arange(len(cosines))
    while len(todo):
        group = np.zeros((len(todo), cosines.shape[1]), dtype=bool)
        group[np.arange(len(todo)), left[todo].argmax(axis=1)] = True
        while True:
            wider = np.matmul(group[:, None, :].astype(np.float32), near[todo].astype(np.float32))[:, 0] > 0.0
            if (wider == group).all():
                break
            group = wider
        pair = np.where(group[:, :, None] & group[:, None, :], cosines[todo], 1.0).min(axis=(1, 2))
        found[todo] = (group.sum(axis=1) >= min_views) & (pair <= apart)
        left[todo] &= ~group
        todo = todo[~found[todo] & left[todo].any(axis=1)]
    return found


def compare(scene, folder, pairs, states, views, best, covered, rose):
    """Prints how far both agree; whether it is far enough."""
    order = np.argsort(pairs, kind="stable")
    pairs, states = pairs[order], states[order]
    theirs = np.fromfile(folder / "decisions.u64", dtype=np.uint64)
    their_pairs, their_states = (theirs >> np.uint64(2)).astype(np.int64), (theirs & np.uint64(3)).astype(np.uint8)
    both, here, there = np.intersect1d(pairs, their_pairs, assume_unique=True, return_indices=True)
    all_pairs = len(pairs) + len(their_pairs) - len(both)
    unlike = all_pairs - len(both) + int((states[here] != their_states[there]).sum())
    sight = all_pairs - len(both) + int(((states[here] > HIDDEN) != (their_states[there] > HIDDEN)).sum())
    results = np.fromfile(folder / "results.f64").reshape(-1, 3)
    finite = np.isfinite(best) & np.isfinite(results[:, 1]) & (views == results[:, 0])
    gsd = np.abs(results[finite, 1] / best[finite] - 1.0).max(initial=0.0)
    their_rose = np.fromfile(folder / "rose.f64")
    print(f"  {all_pairs} decisions, {unlike} unlike ({sight} of them sight): {100.0 * (1.0 - unlike / all_pairs):.4f} % equal")
    print(f"  of {len(views)} samples {int((views != results[:, 0]).sum())} have another count of views, "
          f"{int((covered != (results[:, 2] > 0.5)).sum())} another coverage; best GSD within {gsd:.1e}; "
          f"rose within {np.abs(rose - their_rose).max() / max(their_rose.max(), 1e-9):.1e} of its greatest bin")
    return unlike <= (1.0 - LEAST_EQUAL_SHARE) * all_pairs


def main():
    folder = Path(sys.argv[1])
    scene, clock = Scene(folder), Clock()
    best, rose, kept, rays, pairs, states = look(scene, clock)
    views, widest, covered = coverage(scene, kept, rays)
    clock.lap("coverage")
    spent, told = clock.spent, scene.told
    sight, everything = spent["candidates"] + spent["hiding"], sum(spent.values())
    names = ", ".join(f"{name} {version(name)}" for name in ("numpy", "trimesh", "embreex"))
    print(f"{told['name']}: {len(scene.points)} samples, {len(scene.centres)} stations, {told['triangles']} triangles; {names}")
    parts = ", ".join(f"{part} {seconds[0]:.2f}" for part, seconds in spent.items() if part != "begin")
    print(f"  script: {everything[0]:.2f} s ({parts}), {everything[1]:.2f} s of processor time")
    ours_sight, ours_all = np.array(told["sight_s"]), np.array(told["everything_s"])
    print(f"  program: sight {1000 * ours_sight[0]:.0f} ms, everything {1000 * ours_all[0]:.0f} ms by the clock on "
          f"{told['threads']} threads; {1000 * ours_sight[1]:.0f} ms and {1000 * ours_all[1]:.0f} ms of processor time")
    for kind, name in enumerate(("the clock", "processor time")):
        if ours_all[kind] > 0.0:
            print(f"  script / program by {name}: sight {sight[kind] / ours_sight[kind]:.0f}, "
                  f"everything {everything[kind] / ours_all[kind]:.0f}")
    print(f"  widest intersection within {np.abs(widest - np.fromfile(folder / 'widest.f64')).max():.1e} rad at most")
    if not compare(scene, folder, pairs, states, views, best, covered, rose):
        sys.exit("the decisions differ by more than 0.01 %")


if __name__ == "__main__":
    main()
