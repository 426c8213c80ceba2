"""Adjusts a corner of the demo again and again, with drawn errors, and stores how the results spread.

Reads only the block that a test of the program wrote (images, tie points, samples to check, what is known of camera and
positions); shares no code with the program. Each draw adds noise to every image point, to every position its own part and one
that all have in common, and to what is known of the camera beforehand; the adjustment is non-linear, Gauss-Newton with the tie
points eliminated, until nothing moves any more. Samples are intersected afterwards from image points of their own with the poses
and the camera that came out. The first draw is also solved by scipy's least_squares, all unknowns at once, and must agree.

    python tests/reference/adjust_demo_block.py tests/reference/demo_block
"""

import sys
from pathlib import Path

import numpy as np
import scipy
from adjust_block import axes, turned
from scipy.optimize import least_squares
from scipy.sparse import coo_matrix
from scipy.stats import chi2

DRAWS = 400
SEED = 20261127
ONE_IN = 1e4
"""Of so many figures one oversteps its bounds by chance."""
DOME_SHARE = 0.1
POSE, INNER, COMMON = 6, 8, 3


def read(path):
    return np.loadtxt(path, delimiter=",", skiprows=1, ndmin=2)


def read_seen(path):
    """Numbers, and the list of images that stands last in each row."""
    rows = [line.rsplit(",", 1) for line in path.read_text().splitlines()[1:]]
    numbers = np.array([[float(word) for word in row[0].split(",")] for row in rows])
    return numbers, [np.array(row[1].split(), dtype=int) for row in rows]


def pairs_of(images):
    """Image and point of each ray."""
    return np.concatenate(images), np.repeat(np.arange(len(images)), [len(own) for own in images])


class Block:
    def __init__(self, folder):
        self.poses = read(folder / "images.csv")
        points, seen = read_seen(folder / "points.csv")
        checks, checked = read_seen(folder / "checks.csv")
        (terms,) = read(folder / "terms.csv")
        assert (self.poses[:, 5] == 0).all()
        self.size, self.focal, self.noise = terms[:2], terms[2], terms[3]
        self.own, self.common, self.prior = terms[4:7], terms[7:10], terms[10:18]
        self.axes = np.array([axes(h, t) for h, t in self.poses[:, 3:5]])
        self.points, self.stands_for = points[:, :3], points[:, 3]
        self.image, self.point = pairs_of(seen)
        self.checks, self.normals = checks[:, :3], checks[:, 3:6]
        self.check_image, self.check_point = pairs_of(checked)

    def camera(self):
        """Focal length, principal point, k1, k2, k3, p1, p2."""
        return np.array([self.focal, *((self.size - 1) / 2), 0, 0, 0, 0, 0])

    def project(self, rotations, centres, camera, at, image):
        """Pixels of points, with their derivatives by pose, camera and point."""
        d = at - centres[image]
        own = np.einsum("nij,nj->ni", rotations[image], d)
        f, cx, cy, k1, k2, k3, p1, p2 = camera
        z = own[:, 2]
        x, y = own[:, 0] / z, own[:, 1] / z
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        u = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
        v = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
        uv = np.column_stack([cx + f * u, cy + f * v])
        slope = k1 + r2 * (2 * k2 + 3 * k3 * r2)
        ux = radial + 2 * x * x * slope + 2 * p1 * y + 6 * p2 * x
        uy = 2 * x * y * slope + 2 * p1 * x + 2 * p2 * y
        vy = radial + 2 * y * y * slope + 6 * p1 * y + 2 * p2 * x
        bend = f * np.array([[ux, uy], [uy, vy]]).transpose(2, 0, 1)
        o = np.zeros_like(x)
        flat = np.array([[1 / z, o, -x / z], [o, 1 / z, -y / z]]).transpose(2, 0, 1)
        by_point = bend @ flat @ rotations[image]
        # a camera that turns by w sees d turn by -w: the change of d is -w x d = d x w
        skew = np.array([[o, -d[:, 2], d[:, 1]], [d[:, 2], o, -d[:, 0]], [-d[:, 1], d[:, 0], o]]).transpose(2, 0, 1)
        by_pose = np.concatenate([-by_point, by_point @ skew], axis=2)
        one = np.ones_like(x)
        by_camera = np.array([
            [u, one, o, f * x * r2, f * x * r2**2, f * x * r2**3, 2 * f * x * y, f * (r2 + 2 * x * x)],
            [v, o, one, f * y * r2, f * y * r2**2, f * y * r2**3, f * (r2 + 2 * y * y), 2 * f * x * y],
        ]).transpose(2, 0, 1)
        return uv, by_pose, by_camera, by_point


class State:
    def __init__(self, block):
        self.rotations, self.centres = block.axes.copy(), block.poses[:, :3].copy()
        self.camera, self.common, self.points = block.camera(), np.zeros(3), block.points.copy()

    def moved(self, pose, shared, points):
        self.centres = self.centres + pose[:, :3]
        self.rotations = turned(self.rotations, pose[:, 3:])
        self.camera, self.common = self.camera + shared[:INNER], self.common + shared[INNER:]
        self.points = self.points + points


def draw(block, random):
    """What is observed, once."""
    truth = State(block)
    exact = lambda at, image: block.project(truth.rotations, truth.centres, truth.camera, at, image)[0]
    noise = block.noise / np.sqrt(block.stands_for[block.point])[:, None]
    uv = exact(block.points[block.point], block.image)
    check_uv = exact(block.checks[block.check_point], block.check_image)
    common = random.normal(size=3) * block.common
    return dict(
        uv=uv + random.normal(size=uv.shape) * noise,
        check_uv=check_uv + random.normal(size=check_uv.shape) * block.noise,
        placed=block.poses[:, :3] + common + random.normal(size=(len(block.poses), 3)) * block.own,
        camera=block.camera() + random.normal(size=INNER) * block.prior,
    )


def adjust(block, seen):
    """Gauss-Newton to the end."""
    n, m = len(block.poses), len(block.points)
    weight = (block.stands_for / block.noise**2)[block.point]
    all_poses, shared = POSE * n, INNER + COMMON
    columns = (POSE * block.image[:, None] + np.arange(POSE))
    state = State(block)
    for turn in range(20):
        uv, by_pose, by_camera, by_point = block.project(
            state.rotations, state.centres, state.camera, state.points[block.point], block.image)
        off = seen["uv"] - uv
        wide = np.concatenate([by_pose, by_camera], axis=2)
        weighed = wide * weight[:, None, None]
        normal, right = np.zeros((all_poses + shared, all_poses + shared)), np.zeros(all_poses + shared)
        where = np.concatenate([columns, np.broadcast_to(all_poses + np.arange(INNER), (len(weight), INNER))], axis=1)
        # by image: poses with themselves and with the camera
        blocks = np.einsum("nki,nkj->nij", weighed, wide)
        sides = np.einsum("nki,nk->ni", weighed, off)
        per_image = np.zeros((n, POSE + INNER, POSE + INNER))
        per_side = np.zeros((n, POSE + INNER))
        np.add.at(per_image, block.image, blocks)
        np.add.at(per_side, block.image, sides)
        inner = slice(all_poses, all_poses + INNER)
        for image in range(n):
            own = slice(POSE * image, POSE * (image + 1))
            normal[own, own] += per_image[image, :POSE, :POSE]
            normal[own, inner] += per_image[image, :POSE, POSE:]
            normal[inner, own] += per_image[image, POSE:, :POSE]
            normal[inner, inner] += per_image[image, POSE:, POSE:]
            right[own] += per_side[image, :POSE]
            right[inner] += per_side[image, POSE:]
            for axis in range(3):
                a, b, w = POSE * image + axis, all_poses + INNER + axis, block.own[axis] ** -2
                left = w * (seen["placed"][image, axis] - state.centres[image, axis] - state.common[axis])
                normal[a, a] += w
                normal[b, b] += w
                normal[a, b] += w
                normal[b, a] += w
                right[a] += left
                right[b] += left
        known = np.concatenate([block.prior, block.common]) ** -2.0
        at = np.arange(all_poses, all_poses + shared)
        normal[at, at] += known
        right[at] += known * np.concatenate([seen["camera"] - state.camera, -state.common])
        # points out
        v, side = np.zeros((m, 3, 3)), np.zeros((m, 3))
        np.add.at(v, block.point, np.einsum("nki,nkj->nij", by_point * weight[:, None, None], by_point))
        np.add.at(side, block.point, np.einsum("nki,nk->ni", by_point * weight[:, None, None], off))
        cross = np.zeros((m, 3, all_poses + shared))
        couple = np.einsum("nki,nkj->nij", by_point, weighed)
        for k in range(3):
            np.add.at(cross, (block.point[:, None], k, where), couple[:, k])
        inverse = np.linalg.inv(v)
        moved = inverse @ cross
        flat = cross.reshape(3 * m, -1)
        normal -= flat.T @ moved.reshape(3 * m, -1)
        right -= moved.reshape(3 * m, -1).T @ side.ravel()
        step = scipy.linalg.solve(normal, right, assume_a="pos")
        points = np.einsum("nij,nj->ni", inverse, side) - (moved @ step)
        state.moved(step[:all_poses].reshape(n, POSE), step[all_poses:], points)
        # a millionth of a metre and a radian, and a ten-thousandth of a pixel
        if abs(step[:all_poses]).max() < 1e-6 and abs(step[all_poses]) < 1e-4 and abs(points).max() < 1e-6:
            return state
    raise RuntimeError("did not settle")


def at_once(block, seen):
    """The same by scipy, all unknowns at once."""
    n, m = len(block.poses), len(block.points)
    root = np.sqrt(block.stands_for / block.noise**2)[block.point]
    # the unknowns in steps of about their own size
    size = np.concatenate([np.full(3 * n, 0.03), np.full(3 * n, 1e-3), np.full(INNER, 1.0), block.common,
                           np.full(3 * m, 0.03)])
    size[6 * n : 6 * n + INNER] = [1, 1, 1, 1e-3, 1e-3, 1e-3, 1e-4, 1e-4]

    def split(x):
        x = x * size
        state = State(block)
        pose = np.hstack([x[: 3 * n].reshape(n, 3), x[3 * n : 6 * n].reshape(n, 3)])
        state.moved(pose, x[6 * n : 6 * n + INNER + COMMON], x[6 * n + INNER + COMMON :].reshape(m, 3))
        return state

    def residuals(x):
        state = split(x)
        uv = block.project(state.rotations, state.centres, state.camera, state.points[block.point], block.image)[0]
        return np.concatenate([
            ((uv - seen["uv"]) * root[:, None]).ravel(),
            ((state.centres + state.common - seen["placed"]) / block.own).ravel(),
            (state.camera - seen["camera"]) / block.prior,
            state.common / block.common,
        ])

    rays = len(root)
    rows, columns = [], []
    for k in range(2):
        row = 2 * np.arange(rays) + k
        for axis in range(3):
            for column in (3 * block.image + axis, 3 * n + 3 * block.image + axis,
                           6 * n + INNER + COMMON + 3 * block.point + axis):
                rows.append(row), columns.append(column)
        for term in range(INNER):
            rows.append(row), columns.append(np.full(rays, 6 * n + term))
    place = np.arange(3 * n)
    for column in (place, 6 * n + INNER + place % 3):
        rows.append(2 * rays + place), columns.append(column)
    last = np.arange(INNER + COMMON)
    rows.append(2 * rays + 3 * n + last), columns.append(6 * n + last)
    rows, columns = np.concatenate(rows), np.concatenate(columns)
    sparsity = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(2 * rays + 3 * n + INNER + COMMON, len(size)))
    done = least_squares(residuals, np.zeros(len(size)), jac_sparsity=sparsity.tocsr(), method="trf", x_scale=1.0,
                         xtol=1e-12, ftol=1e-12, gtol=1e-9, tr_solver="lsmr", tr_options=dict(atol=1e-13, btol=1e-13))
    assert done.success
    return split(done.x)


def intersect(block, state, uv):
    """Samples from their own image points, with poses and camera as they are."""
    at = block.checks.copy()
    for turn in range(20):
        found, _, _, by_point = block.project(
            state.rotations, state.centres, state.camera, at[block.check_point], block.check_image)
        v, side = np.zeros((len(at), 3, 3)), np.zeros((len(at), 3))
        np.add.at(v, block.check_point, np.einsum("nki,nkj->nij", by_point, by_point))
        np.add.at(side, block.check_point, np.einsum("nki,nk->ni", by_point, uv - found))
        step = np.linalg.solve(v, side[:, :, None])[:, :, 0]
        at += step
        if abs(step).max() < 1e-7:
            return at
    raise RuntimeError("did not settle")


def dome_of(points):
    """Weights of the heights: the tenth nearest to the centroid less the farthest tenth."""
    away = ((points[:, :2] - points[:, :2].mean(axis=0)) ** 2).sum(axis=1)
    order = np.argsort(away, kind="stable")
    count = round(DOME_SHARE * len(points))
    weights = np.zeros(len(points))
    weights[order[:count]], weights[order[-count:]] = 1 / count, -1 / count
    return weights


def main(folder):
    folder = Path(folder)
    block = Block(folder)
    random = np.random.default_rng(SEED)
    dome = dome_of(block.points)
    cameras, heights, checks = [], [], []
    for number in range(DRAWS):
        seen = draw(block, random)
        state = adjust(block, seen)
        if number == 0:
            other = at_once(block, seen)
            apart = abs(other.points - state.points).max(), abs(other.camera - state.camera)[:3].max()
            print("apart from least_squares:", apart)
            assert apart[0] < 1e-4 and apart[1] < 1e-2, apart
        cameras.append(state.camera)
        heights.append([dome @ state.points[:, 2], state.points[:, 2].mean()])
        checks.append(intersect(block, state, seen["check_uv"]) - block.checks)
    of_camera = np.std(cameras, axis=0, ddof=1)
    of_dome, of_level = np.std(heights, axis=0, ddof=1)
    checks = np.array(checks)
    variance = checks.var(axis=0, ddof=1)
    along = np.einsum("kni,ni->kn", checks, block.normals).var(axis=0, ddof=1)
    spread = np.sqrt(np.column_stack([variance[:, 0] + variance[:, 1], variance[:, 2], along]))

    free = DRAWS - 1
    bounds = lambda share: np.sqrt(chi2.ppf([share / 2, 1 - share / 2], free) / free)
    least, most = bounds(1 / ONE_IN)
    off = abs(bounds(0.05) - 1).max()
    shared = [*of_camera[:4], of_dome, of_level, DRAWS, least, most, off]
    head = "focal_px,cx_px,cy_px,k1,dome_m,level_m,draws,least_ratio,most_ratio,off_of_all"
    save = lambda name, values, form, head: np.savetxt(
        folder / name, values, fmt=form, delimiter=",", header=head, comments="")
    save("shared.csv", np.array([shared]), "%.9g", head)
    save("spread.csv", spread, "%.9f", "horizontal_m,vertical_m,normal_m")
    (folder / "versions.txt").write_text(f"numpy {np.__version__}\nscipy {scipy.__version__}\n")


if __name__ == "__main__":
    main(sys.argv[1])
