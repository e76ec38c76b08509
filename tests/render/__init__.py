"""Draw a marked panel and photograph it with a known camera: a picture whose truth is exact.

`Drawing` is what is on the panel, `Scene` everything around it; `photograph` makes a `Rendered` picture of both.
`by_hand` draws like a person, `ordinary_scene` sets up a bench like a person; both from a seed, always the same.
"""

from tests.render.camera import Camera, stand
from tests.render.drawing import Dot, Drawing, Petal, Ring, Spoke
from tests.render.glass import Glass, disc
from tests.render.hand import by_hand
from tests.render.photograph import photograph
from tests.render.pieces import Piece, flower
from tests.render.rendered import Rendered
from tests.render.scene import Finish, Light, Panel, Scene, Slab, Table, Tray
from tests.render.scenes import ordinary_scene

__all__ = [
    "Camera",
    "Dot",
    "Drawing",
    "Finish",
    "Glass",
    "Light",
    "Panel",
    "Petal",
    "Piece",
    "Rendered",
    "Ring",
    "Scene",
    "Slab",
    "Spoke",
    "Table",
    "Tray",
    "by_hand",
    "disc",
    "flower",
    "ordinary_scene",
    "photograph",
    "stand",
]
