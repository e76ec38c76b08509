"""What a glossy dome under one lamp looks like, and how well a picture is explained by one.

Light falls from the lamp's side: the dome is light towards it and dark away from it, shows a highlight between lamp and
eye, and throws a shadow to the far side. Each of these is a pattern whose strength the picture itself tells, so that a
dome of any paint on a panel of any paint is one and the same model; what is left over tells a right circle from a wrong
one, with no need to know which of the patterns are there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: How high the lamp stands: a lamp in a room or a window, from above 20 to 50 degrees over the table. Patterns bend
#: little with it.
LAMP_DEG = 35.0
#: The shadow is thrown by this share of the radius, and softened by this share.
THROWN, PENUMBRA = 0.5, 0.22
#: Half the width of a highlight, share of the radius: a window seen in a dome.
GLINT = 0.18
#: Where the highlight lies towards the lamp, share of the radius: half way between lamp and eye.
GLINT_AT = float(np.sin(np.radians(90 - LAMP_DEG) / 2))
#: What keeps strengths finite where patterns cannot be told apart.
STIFF = 1e-3
#: Domes that are tried: radii as shares of the picture's reach, steps of the middle towards the lamp (shares of the
#: radius) and across.
RADII = 0.22 * 1.12 ** np.arange(12)
ALONG, ACROSS = np.arange(-6, 7) * 0.12, (-0.15, 0.0, 0.15)
#: Blur of rims in points of the picture: a picture is coarser than the view, and dots do not lie exactly on each other.
BLUR = 0.75
#: The smallest share of the part that may lie outside its dome, of its radius.
OUTSIDE = 0.4
#: Steps of the last fit, and how far each may go, shares of the radius.
STEPS, FARTHEST, NUDGE, DONE = 8, 0.1, 0.02, 0.003
#: So many steps leave hardly more than all do.
FEW_STEPS = 2


def patterns(along: Floats, across: Floats, blur: Floats | float) -> Floats:
    """Panel, flat paint, sky, lamp, shadow and highlight (6, ...) of a dome of radius 1 about the origin.

    Parameters
    ----------
    along, across : ndarray (...)
        Places, towards the lamp and across.
    blur : float or ndarray (...)
        Of the rim, in radii.
    """
    far = np.hypot(along, across)
    disc = _soft((1 - far) / blur)
    up = np.sqrt(np.clip(1 - far**2, 0, 1))
    tilt = np.radians(LAMP_DEG)
    lamp = np.clip(along * np.cos(tilt) + up * np.sin(tilt), 0, None)
    shadow = _soft((1 - np.hypot(along + THROWN, across)) / np.hypot(blur, PENUMBRA)) * (1 - disc)
    glint = np.exp(-0.5 * ((along - GLINT_AT) ** 2 + across**2) / (GLINT**2 + np.square(blur)))
    return np.stack([1 - disc, disc, disc * up, disc * lamp, shadow, glint])


def _soft(far: Floats) -> Floats:
    """A step from 0 to 1 about 0, in single steps of its blur."""
    return np.asarray(0.5 + 0.5 * np.tanh(far), float)


@dataclass(frozen=True)
class Circle:
    """A circle in a picture: middle (2,) from the picture's, and radius, in its points; what it leaves unexplained."""

    middle: Floats
    radius: float
    left: float


@dataclass(frozen=True)
class Picture:
    """Brightness about a kind's dots, at points within a circle about their middle.

    Attributes
    ----------
    light : ndarray (n,)
        Less the bare panel's.
    weight : ndarray (n,)
        1 where all dots of the kind agree, towards 0 where they do not: there neighbours lie.
    x, y : ndarray (n,)
        Places in the picture's points.
    step_mm, radius_mm : float
        Of a point, and of the dots as they were seen.
    """

    light: Floats
    weight: Floats
    x: Floats
    y: Floats
    step_mm: float
    radius_mm: float

    @property
    def radius(self) -> float:
        """The dots' radius in points."""
        return self.radius_mm / self.step_mm

    def only(self, which: NDArray[np.bool_]) -> "Picture":
        """The same at fewer points."""
        return Picture(
            self.light[which], self.weight[which], self.x[which], self.y[which], self.step_mm, self.radius_mm
        )

    def left_by(self, middle: Floats, radius: float, towards: Floats, blur: float) -> Floats:
        """What a dome there leaves unexplained (n,), weighed."""
        x, y = (self.x - middle[0]) / radius, (self.y - middle[1]) / radius
        shapes = patterns(x * towards[0] + y * towards[1], y * towards[0] - x * towards[1], blur / radius)
        root = np.sqrt(self.weight)
        shapes, seen = shapes * root, self.light * root
        products = shapes @ shapes.T
        strengths = np.linalg.solve(products + _stiff(products), shapes @ seen)
        return np.asarray(seen - strengths @ shapes, float)


def _stiff(products: Floats) -> Floats:
    """A little of the mean strength (..., k, k) for each."""
    count = products.shape[-1]
    return STIFF / count * np.trace(products, axis1=-2, axis2=-1)[..., None, None] * np.eye(count)


@dataclass(frozen=True)
class Domes:
    """Domes of many sizes and places, all lit by one lamp, as they show at the points of a picture.

    Attributes
    ----------
    towards : ndarray (2,)
        Where the lamp stands.
    middle : ndarray (m, 2)
    radius : ndarray (m,)
        In points.
    shapes : ndarray (m, 6, n)
        What each looks like, pattern by pattern.
    """

    towards: Floats
    middle: Floats
    radius: Floats
    shapes: Singles
    products: Singles

    @classmethod
    def lit_from(cls, towards: Floats, reach: int) -> "Domes":
        """Domes for pictures that reach so many points to each side."""
        x, y = _points(reach)
        radius, along, across = (v.ravel() for v in np.meshgrid(RADII * reach, ALONG, ACROSS, indexing="ij"))
        aside = np.array([-towards[1], towards[0]])
        middle = radius[:, None] * (along[:, None] * -towards + across[:, None] * aside)
        seen = np.hypot(*middle.T) + radius < reach
        radius, middle = radius[seen], middle[seen]
        u, v = ((at - m[:, None]) / radius[:, None] for at, m in zip((x, y), middle.T, strict=True))
        turned = u * towards[0] + v * towards[1], v * towards[0] - u * towards[1]
        shapes = np.moveaxis(patterns(*turned, BLUR / radius[:, None]), 0, 1).astype(np.float32)
        one, other = np.triu_indices(shapes.shape[1])
        return cls(towards, middle, radius, shapes, shapes[:, one] * shapes[:, other])

    def best(self, picture: Picture, larger: float) -> tuple[Floats, float] | None:
        """Middle and radius of the dome that explains the picture best; None if no larger one than the dot does."""
        count = self.shapes.shape[1]
        weight = picture.weight.astype(np.float32)
        one, other = np.triu_indices(count)
        products = np.empty((len(self.radius), count, count))
        products[:, one, other] = products[:, other, one] = self.products @ weight
        match = (self.shapes @ (weight * picture.light.astype(np.float32))).astype(float)
        strength = np.linalg.solve(products + _stiff(products), match[..., None])[..., 0]
        # A part lies in its dome, nearly.
        own = picture.radius
        holds = np.hypot(*self.middle.T) <= np.maximum(self.radius - (1 - OUTSIDE) * own, OUTSIDE * own)
        big_enough = self.radius > np.exp(-larger) * own
        gain = np.where(holds & big_enough, (strength * match).sum(1), -np.inf)
        k = int(gain.argmax())
        return None if np.log(self.radius[k] / picture.radius) < larger else (self.middle[k], float(self.radius[k]))

    def fitted(
        self, picture: Picture, middle: Floats, radius: float, most: float = 1.2, hopeless: float = np.inf
    ) -> Circle:
        """The dome near this one that explains the picture best, at most so many times as large or small.

        What still leaves more than `hopeless` after a few steps is not followed further.
        """
        at = np.array([*middle, radius], float)
        left = picture.left_by(at[:2], at[2], self.towards, BLUR)
        best = Circle(at[:2], float(at[2]), float(left @ left))
        for taken in range(STEPS):
            if taken == FEW_STEPS and best.left > hopeless:
                break
            nudge = NUDGE * at[2]
            slope = np.stack(
                [(picture.left_by(*_parts(at + nudge * k), self.towards, BLUR) - left) / nudge for k in np.eye(3)]
            )
            step = np.linalg.solve(slope @ slope.T + 1e-9 * np.eye(3), -slope @ left)
            at = at + np.clip(step, -FARTHEST * at[2], FARTHEST * at[2])
            at[2] = np.clip(at[2], radius / most, radius * most)
            left = picture.left_by(*_parts(at), self.towards, BLUR)
            if left @ left < best.left:
                best = Circle(at[:2], float(at[2]), float(left @ left))
            if np.abs(step).max() < DONE * at[2]:
                break
        return best


def _parts(at: Floats) -> tuple[Floats, float]:
    return at[:2], float(at[2])


def _points(reach: int) -> tuple[Floats, Floats]:
    """Points (n,) of a picture, x and y."""
    y, x = np.nonzero(within(reach))
    return x.astype(float) - reach, y.astype(float) - reach


def within(reach: int) -> NDArray[np.bool_]:
    """Which points (2 reach + 1, same) of a square lie within a circle about its middle."""
    along = np.arange(-reach, reach + 1)
    return np.asarray(along**2 + along[:, None] ** 2 <= reach**2, bool)
