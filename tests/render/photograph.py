"""Take the picture: table, side walls and face in true perspective, all in linear light, then lens and file."""

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera
from tests.render.chalk import FaceFrame
from tests.render.drawing import Drawing
from tests.render.face import MARGIN_MM, paint_face
from tests.render.finish import develop
from tests.render.glass import lay_glass
from tests.render.light import edge_light, facing, irradiance, left_by_panel, sheen, side_lines
from tests.render.pieces import place_pieces
from tests.render.rendered import Rendered
from tests.render.scene import Light, Panel, Scene, linear
from tests.render.table import TableTop, lay_slab
from tests.render.tiles import Image, Tile, tiles
from tests.render.tray import lay_tray, under_tray
from tests.render.truth import truth_of

#: The face is painted a little finer than the photo shows it, within what memory bears.
FINER, MOST_FACE_PX = 1.15, 4200


def photograph(drawing: Drawing, scene: Scene, seed: int = 0) -> Rendered:
    """Photograph `drawing` on the panel of `scene`; the same seed gives the same picture."""
    if scene.camera is None:
        raise ValueError("the scene has no camera: use scene.seen(size_px, ...)")
    rng = np.random.default_rng(seed)
    camera, panel = scene.camera, scene.panel
    scale = min(_largest_scale(camera, panel) * FINER, MOST_FACE_PX / max(panel.width_mm, panel.height_mm))
    face, frame = paint_face(panel, drawing, scale, rng)
    top = TableTop.painted(scene.table, rng)
    walls = _walls(camera, panel, scene.light)
    if scene.tray:
        walls = under_tray(camera, panel, scene.tray) + walls
    light = np.empty((camera.height_px, camera.width_px, 3), np.float32)
    for tile in tiles(camera):
        light[tile.place] = _tile(tile, scene, top, walls, face, frame)
    if scene.tray:
        lay_tray(light, camera, scene.panel, scene.tray)
    if drawing.things:
        place_pieces(light, camera, scene.light, drawing.things)
    if drawing.pieces:
        place_pieces(light, camera, scene.light, drawing.pieces)
    if drawing.glass:
        lay_glass(light, camera, scene.light, drawing.glass)
    pixels = develop(light, scene.finish, rng)
    return Rendered(pixels, truth_of(drawing, scene, seed), scene.finish)


def _largest_scale(camera: Camera, panel: Panel) -> float:
    """Pixels per mm where the panel is nearest."""
    c = panel.corners_mm
    spots = np.concatenate([c + (dx, dy) for dx, dy in ((0, 0), (1, 0), (0, 1))])
    p = camera.project_plane(spots).reshape(3, 4, 2)
    return float(np.hypot(*np.moveaxis(p[1:] - p[0], -1, 0)).max())


def _walls(camera: Camera, panel: Panel, light: Light) -> list[tuple[NDArray[np.uint8], NDArray[np.float32]]]:
    """For each side wall that shows: its mask in the photo and its light."""
    found = []
    normals, _ = side_lines(panel)
    corners = panel.corners_mm
    paint = linear(panel.side_colour or panel.colour)
    for k, seen in enumerate(facing(camera, panel)):
        if seen <= 0:
            continue
        t = np.linspace(0, 1, 65)[:, None]
        edge = corners[k] * (1 - t) + corners[(k + 1) % 4] * t
        # The mask reaches a little under the face, which is laid over it afterwards.
        upper = camera.project_plane(edge - 0.3 * normals[k])
        lower = camera.project_plane(edge, -panel.depth_mm)
        outline = np.concatenate([upper, lower[::-1]])
        mask = np.zeros((camera.height_px, camera.width_px), np.uint8)
        cv2.fillPoly(mask, [np.round(outline * 256).astype(np.int32)], 255, cv2.LINE_AA, 8)
        found.append((mask, paint * np.float32(edge_light(light, normals[k], np.ones(1))[0])))
    return found


def _tile(
    tile: Tile,
    scene: Scene,
    top: TableTop,
    walls: list[tuple[NDArray[np.uint8], NDArray[np.float32]]],
    face: Image,
    frame: FaceFrame,
) -> Image:
    """The light (h, w, 3) that reaches one tile."""
    panel, depth = scene.panel, scene.panel.depth_mm + scene.table.below_mm
    nodes = tile.nodes(-depth)
    view = tile.view(nodes)
    picture = top.colour(view)
    for slab in scene.table.slabs:
        if not slab.over_panel:
            lay_slab(picture, slab, view)
    picture *= tile.spread(irradiance(scene.light, nodes, -depth))[..., None]
    reach = np.abs(panel.corners_mm).max(0) + MARGIN_MM
    if scene.table.below_mm == 0 and (np.abs(nodes) < reach + 10 * depth + 30).all(-1).any():
        picture *= left_by_panel(scene.light, panel, view)[..., None]
    for mask, colour in walls:
        part = mask[tile.place]
        if part.any():
            picture += (part / np.float32(255))[..., None] * (colour - picture)
    nodes = tile.nodes(0.0)
    if (np.abs(nodes) < reach + 10).all(-1).any():
        _lay_face(picture, tile, nodes, scene, face, frame)
    for slab in scene.table.slabs:
        if slab.over_panel:
            lay_slab(picture, slab, tile.view(nodes))
    return picture


def _lay_face(
    picture: Image, tile: Tile, nodes: NDArray[np.float64], scene: Scene, face: Image, frame: FaceFrame
) -> None:
    """Put the panel's face on the tile's `picture` in place."""
    panel, view = scene.panel, tile.view(nodes)
    normals, offsets = side_lines(panel)
    # Where a side hides its wall, the outline is where the rounded edge turns away: a little inside the sharp side.
    tilt = np.arctan(np.maximum(-facing(tile.camera, panel), 0))
    inset = panel.edge_round_mm * (np.cos(tilt) + np.sin(tilt) - 1) / np.cos(tilt)
    sides = np.stack([view.distance_px(n, o - i) for n, o, i in zip(normals, offsets, inset, strict=True)])
    scale = view.mm_per_px
    if any(panel.side_bow_mm):
        sides += _bows_mm(panel, view.xy) / scale
    inside = np.clip(_rounded(sides, panel.corner_radius_mm / scale) + 0.5, 0, 1)
    if not inside.any():
        return
    spots = (view.xy - np.asarray(frame.corner_mm, np.float32)) * np.float32(frame.px_per_mm) - np.float32(0.5)
    paint = cv2.remap(face, spots[..., 0], spots[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    paint *= tile.spread(irradiance(scene.light, nodes, 0.0))[..., None]
    if scene.light.glare:
        paint += tile.spread(sheen(scene.light, nodes))[..., None]
    _round_edges(paint, sides * scale, scene, normals, tilt)
    picture += inside[..., None] * (paint - picture)


def _bows_mm(panel: Panel, xy: Image) -> Image:
    """How far each side bows outwards (4, h, w), mm, at the place along it that points (h, w, 2) have."""
    corners = panel.corners_mm.astype(np.float32)
    bows = []
    for k, bow in enumerate(panel.side_bow_mm):
        start, end = corners[k], corners[(k + 1) % 4]
        along = (end - start) / np.float32(np.hypot(*(end - start)) ** 2)
        u = 2 * ((xy - start) @ along) - 1
        # From the middle to the ends it falls by `bow`; its mean is 0, so that the straight side stays where it is.
        bows.append(np.float32(bow) * (np.float32(1 / 3) - np.clip(u, -1.1, 1.1) ** 2))
    return np.stack(bows)


def _rounded(sides: Image, radius: Image) -> Image:
    """Distance (h, w) inside a quadrilateral with rounded corners, from those (4, h, w) inside each side, in pixels."""
    across, down = np.minimum(sides[1], sides[3]), np.minimum(sides[0], sides[2])
    corner = radius - np.hypot(np.maximum(radius - across, 0), np.maximum(radius - down, 0))
    return np.where((across < radius) & (down < radius), corner, np.minimum(across, down))


def _round_edges(
    paint: Image, sides_mm: Image, scene: Scene, normals: NDArray[np.float64], tilts: NDArray[np.float64]
) -> None:
    """Shade the last tenth of a millimetre, where the surface turns from the face to the wall, in place.

    `sides_mm` (4, h, w) are distances inside the outline, `tilts` (4,) as :func:`lean_of_edge` takes them.
    """
    panel = scene.panel
    bare = linear(panel.colour)
    for side, normal, tilt in zip(sides_mm, normals, tilts.tolist(), strict=True):
        near = side < panel.edge_round_mm * (1 - np.sin(tilt)) / np.cos(tilt)
        if near.any():
            lean = lean_of_edge(side[near], panel.edge_round_mm, tilt)
            edge = bare * edge_light(scene.light, normal, lean)[:, None].astype(np.float32)
            # Chalk at the very edge is overlaid: it does not hold there.
            paint[near] += np.minimum(4 * lean, 1)[:, None] * (edge - paint[near])


def lean_of_edge(inside_mm: Image, radius_mm: float, tilt: float) -> Image:
    """Sine of the angle by which a rounded edge leans where it is seen so far inside its outline; 0 on the face.

    `tilt` is the angle between sight line and the face's normal across a side that hides its wall, else 0. Where the
    arc leans by f it is seen (1 - sin(f + tilt)) / cos(tilt) radii inside its outline, which is where f + tilt is a
    right angle.
    """
    turned = 1 - inside_mm * np.float32(np.cos(tilt) / radius_mm)
    return np.asarray(np.sin(np.maximum(np.arcsin(np.clip(turned, -1, 1)) - np.float32(tilt), 0)), np.float32)
