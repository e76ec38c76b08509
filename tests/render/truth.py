"""The exact truth of a rendered photo, in the form that `tests.truth` reads.

Lengths in mm, angles in degrees clockwise from 12 o'clock, pixels of the upright photo with the centre of the top-left
one at (0, 0). Panel frame: origin where the panel's diagonals cross, x right, y down.
"""

from dataclasses import asdict
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tests.render.camera import Camera
from tests.render.drawing import Dot, Drawing, Petal, Ring, Segment, Spoke
from tests.render.pieces import seen_outline
from tests.render.scene import Panel, Scene


def diagonal_crossing(panel: Panel) -> tuple[float, float]:
    """Where the diagonals cross: the origin of the frame that the truth speaks in."""
    a, b, c, d = panel.corners_mm
    t, _ = np.linalg.solve(np.column_stack([c - a, b - d]), b - a)
    x, y = a + t * (c - a)
    return float(x), float(y)


def truth_of(drawing: Drawing, scene: Scene, seed: int) -> dict[str, Any]:
    """Everything there is to know, as plain values."""
    panel, camera = scene.panel, scene.camera
    assert camera is not None
    origin = diagonal_crossing(panel)
    if np.hypot(*origin) > 1e-6:
        raise ValueError(f"shift the corners so that the diagonals cross at the origin, not at {origin}")
    truth: dict[str, Any] = {
        "stage": _stage(drawing),
        "panel": {
            "width_mm": panel.width_mm,
            "height_mm": panel.height_mm,
            "depth_mm": panel.depth_mm,
            "corner_radius_mm": panel.corner_radius_mm,
            "colour": panel.colour,
        },
        "corners_px": _points(camera.project_plane(panel.corners_mm)),
        "corners_mm": _points(panel.corners_mm, 6),
        "centre_mark_mm": _points(drawing.centre_mark_mm),
        "segments": drawing.segments,
        "layout_rotation_deg": round(drawing.rotation_deg, 4),
        "ring_pitch_mm": drawing.ring_pitch_mm,
        "spokes": [_spoke(s) for s in drawing.spokes],
        "rings": [_ring(r) for r in drawing.rings],
        "diagonals": bool(drawing.diagonals),
        "diagonal_lines_mm": [_line(s) for s in drawing.diagonals or drawing.centre_cross],
        "stray_lines_mm": [_line(s) for s in drawing.strays],
        "ghost_marks": len(drawing.ghosts),
    }
    if drawing.borders:
        truth["border_lines_mm"] = [_line(s) for s in drawing.borders]
    if drawing.petals:
        truth["petals"] = [_petal(p) for p in drawing.petals]
    if drawing.dots:
        truth["dots"] = [_dot(d) for d in drawing.dots]
        truth["missing_dots"] = [_dot(d) for d in drawing.missing_dots]
    if drawing.pieces:
        truth["centrepiece"] = _centrepiece(drawing, camera)
    if drawing.glass:
        truth["glass"] = [{"outline_mm": _points(g.outline_mm), "top_mm": g.top_mm} for g in drawing.glass]
    truth["camera"] = {
        "width_px": camera.width_px,
        "height_px": camera.height_px,
        "f_px": camera.f_px,
        "cx": camera.cx,
        "cy": camera.cy,
        "k1": camera.k1,
        "k2": camera.k2,
        "tilt_deg": round(camera.tilt_deg, 3),
        "f35_mm": round(camera.f35_mm, 3),
        "R_world_to_cam": _points(camera.rotation, 9),
        "position_mm": _points(camera.position_mm),
        "model": scene.finish.model,
    }
    truth["nuisance"] = {
        "background": scene.table.kind,
        "light": asdict(scene.light),
        "glare": scene.light.glare > 0,
        "jpeg_quality": scene.finish.jpeg_quality,
        "blur_px": scene.finish.blur_px,
        "noise": scene.finish.noise,
        "chalk": drawing.colour,
        "seed": seed,
    }
    truth["taken"] = scene.finish.taken
    return truth


def _stage(drawing: Drawing) -> str:
    if drawing.dots:
        return "painted"
    if drawing.petals:
        return "rows"
    return "arranged" if drawing.pieces or drawing.glass else "marked"


def _centrepiece(drawing: Drawing, camera: Camera) -> dict[str, Any]:
    """Plan, silhouette and reaches of all pieces together; reaches from the centre mark."""
    plan = np.concatenate([np.asarray(p.outline_mm) for p in drawing.pieces])
    seen, mark = seen_outline(camera, drawing.pieces), np.asarray(drawing.centre_mark_mm)
    return {
        "outline_mm": _points(plan),
        "reach_mm": float(np.hypot(*(plan - mark).T).max()),
        "centre_mm": _points(plan.mean(0)),
        "seen_outline_mm": _points(seen, 3),
        "seen_reach_mm": float(np.hypot(*(seen - mark).T).max()),
        "height_mm": max(p.top_mm for p in drawing.pieces),
        "edge_height_mm": max(drawing.pieces, key=lambda p: float(np.abs(p.outline_mm).max())).top_mm,
    }


def _points(values: ArrayLike, digits: int = 5) -> Any:
    return np.round(np.asarray(values, float), digits).tolist()


def _line(segment: Segment) -> Any:
    return _points(segment)


def _spoke(spoke: Spoke) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "inner_mm": _points(spoke.inner_mm),
        "outer_mm": _points(spoke.outer_mm),
        "width_mm": round(spoke.width_mm, 4),
        "gaps": _points(spoke.gaps),
        "angle_error_deg": round(spoke.angle_error_deg, 4),
    }
    if spoke.extension_outer_mm is not None:
        facts["extension_outer_mm"] = _points(spoke.extension_outer_mm)
        facts["extension_inner_mm"] = _points(spoke.extension_inner_mm or spoke.outer_mm)
    if any(spoke.bow_mm):
        facts["bow_mm"] = _points(spoke.bow_mm)
    return facts


def _ring(ring: Ring) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "centre_mm": _points(ring.centre_mm),
        "radius_mm": round(ring.radius_mm, 5),
        "width_mm": round(ring.width_mm, 4),
        "gaps_deg": _points(ring.gaps_deg),
    }
    if ring.waves_mm:
        facts["roundness_mm"] = round(ring.roundness_mm, 4)
    return facts


def _petal(petal: Petal) -> dict[str, Any]:
    return {
        "row": petal.row,
        "spoke": petal.spoke,
        "tip_mm": _points(petal.tip_mm),
        "base_mm": _points(petal.base_mm),
        "plan_angle_deg": petal.plan_angle_deg,
        "plan_tip_radius_mm": petal.plan_tip_radius_mm,
        "short": petal.short,
    }


def _dot(dot: Dot) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "centre_mm": _points(dot.centre_mm),
        "diameter_mm": dot.diameter_mm,
        "colour": dot.colour,
        "group": dot.group,
        "index": dot.index,
    }
    if dot.oversize_mm:
        facts["oversize_mm"] = dot.oversize_mm
    return facts
