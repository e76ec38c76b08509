"""Which spokes have another line along them, and their fit together with it."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.masks import Stretch, beside_lines
from aligncheck.marks.paths import Paths
from aligncheck.marks.pieces import Pieces, piece_basis
from aligncheck.marks.profile import Profile
from aligncheck.marks.reading import Reading, Scene
from aligncheck.marks.strip_model import Partner
from aligncheck.marks.union import Union, fit_union

Floats = NDArray[np.float64]

#: A spoke with another line near more than this share of its rows is fitted together with that line.
SHARED = 0.3
#: The joint fit's variance, widened: its model of chalk is cruder than that of a stroke alone.
WIDEN = 3.0
#: Chalk of two strokes that lie upon each other is one stroke whose edges may be either's, ragged by about this, mm; it
#: fades as their distance grows beyond a stroke's width.
SHARED_EDGE_MM = 0.1


def part_overlapping(scene: Scene, reading: Reading, pieces: Pieces) -> tuple[Pieces, NDArray[np.bool_]]:
    """Fit again the spokes that another line runs along, in their strips' own pictures; says which (S,) they were."""
    along = reading.paths.along_mm
    inside = (along >= pieces.inner_mm[:, None]) & (along <= pieces.outer_mm[:, None])
    rows = inside & reading.clear & (along >= scene.first_mm)
    strong = tuple(line for line in scene.lines if line.own < 0 and not line.faint)
    _, near = beside_lines(reading.paths, strong, reading.profile.seen_mm)
    shared = (rows & near).sum(1) > SHARED * np.maximum(rows.sum(1), 1)
    if not shared.any():
        return pieces, shared
    coefficients, covariance = pieces.fit.coefficients.copy(), pieces.fit.covariance.copy()
    basis = piece_basis(along, pieces.inner_mm, pieces.outer_mm, pieces.hinge_mm)
    for s in np.nonzero(shared)[0]:
        union = _fit_one(int(s), scene, strong, reading, pieces, rows[s], basis[s])
        if union is None:
            shared[s] = False
        else:
            coefficients[s] = union.coefficients
            covariance[s] = union.covariance * WIDEN + _shared_edges(int(s), union, strong, reading, pieces)
    fit = pieces.fit._replace(coefficients=coefficients, covariance=covariance)
    return pieces._replace(fit=fit), shared


def _shared_edges(s: int, union: Union, lines: tuple[Stretch, ...], reading: Reading, pieces: Pieces) -> Floats:
    """Covariance (P, P) of the spoke's line from not knowing whose edge it is where another line lies upon it.

    Each end is unsure by itself: along one stroke the strokes part, along another they cross.
    """
    ends = np.array([pieces.inner_mm[s], pieces.outer_mm[s]])
    along = reading.paths.along_mm
    middle, half = ends.mean(), max((ends[1] - ends[0]) / 2, 1e-6)
    path = piece_basis(along, *(np.array([v]) for v in (ends[0], ends[1], pieces.hinge_mm[s])))[0] @ union.coefficients
    one = Paths.straight(reading.paths.centre_mm, reading.paths.angle_deg[s], reading.paths.miss_mm[s], along)
    sd = np.zeros(2)
    for line in lines:
        away = np.interp(ends, along, np.nan_to_num(one.offsets_of(line.start_mm, line.end_mm)[0], nan=1e3) - path)
        sd = np.maximum(sd, SHARED_EDGE_MM * np.exp(-0.5 * (away / union.width_mm) ** 2))
    at = np.array([[1.0, (end - middle) / half] for end in ends])
    line_of_ends = np.linalg.inv(at)
    covariance = np.zeros((len(union.coefficients),) * 2)
    covariance[:2, :2] = line_of_ends @ np.diag(sd**2) @ line_of_ends.T
    return covariance


def _fit_one(
    s: int,
    scene: Scene,
    lines: tuple[Stretch, ...],
    reading: Reading,
    pieces: Pieces,
    rows: NDArray[np.bool_],
    basis: Floats,
) -> Union | None:
    """The spoke `s` together with the lines along it."""
    paths, profile = reading.paths, reading.profile
    one = Paths.straight(paths.centre_mm, paths.angle_deg[s], paths.miss_mm[s], paths.along_mm)
    reach = 3.0 + profile.seen_mm
    px_mm = 1 / float(scene.panel.px_per_mm(paths.centre_mm))
    count = int(np.ceil(reach / max(0.14 * profile.seen_mm, 0.8 * px_mm)))
    offsets = np.linspace(-reach, reach, 2 * count + 1)
    values = (
        scene.sign * one.sample(scene.pixels, scene.panel, offsets, rows[None], mixture=scene.mixture)[0] / scene.unit
    )
    partners = []
    for line in lines:
        offset = one.offsets_of(line.start_mm, line.end_mm)[0]
        if np.isfinite(offset).all() and (np.abs(offset[rows]) < reach).mean() > 0.2:
            partners.append(Partner(offset, line.sd_mm, profile.width_mm))
    if not partners:
        return None
    inside = np.nonzero(rows)[0]
    # What the rows that show the spoke alone say, if there are any, and the first pass's line.
    alone = (pieces.fit.weights[s] > 0.1).sum() > 10
    guesses = (np.zeros(basis.shape[1]), *((pieces.fit.coefficients[s],) if alone else ()))
    return fit_union(
        values,
        offsets,
        rows,
        basis,
        pieces.prior_mm,
        (int(inside[0]), int(inside[-1])),
        tuple(partners),
        Profile(profile.width_mm, profile.blur_mm),
        paths.step_mm,
        guesses,
    )
