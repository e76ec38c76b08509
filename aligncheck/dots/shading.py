"""What a glossy dome under one lamp looks like, and how well a picture is explained by one.

Light falls from the lamp's side: the dome is light towards it and dark away from it, shows a highlight between lamp and
eye, and throws a shadow to the far side. Each of these is a pattern whose strength the picture itself tells, so that a
dome of any paint on a panel of any paint is one and the same model; what is left over tells a right circle from a wrong
one, with no need to know which of the patterns are there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.pictures import Pictures, points

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: How high the lamp stands: a lamp in a room or a window, from above 20 to 50 degrees over the table. Patterns bend
#: little with it.
LAMP_DEG = 35.0
LAMP_LOW, LAMP_HIGH = float(np.cos(np.radians(LAMP_DEG))), float(np.sin(np.radians(LAMP_DEG)))
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


#: What shifts and growth do is told by nudges of so much, shares of the radius: none, right, down, larger.
NUDGES = NUDGE * np.concatenate([np.zeros((1, 3)), np.eye(3)])


def patterns(along: Singles, across: Singles, blur: Singles) -> Singles:
    """Panel, flat paint, sky, lamp, shadow and highlight (..., 6, n) of a dome of radius 1 about the origin.

    Parameters
    ----------
    along, across : ndarray (..., n)
        Places, towards the lamp and across.
    blur : ndarray (..., 1)
        Of the rim, in radii.
    """
    found = np.empty((*along.shape[:-1], 6, along.shape[-1]), np.float32)
    panel, disc, sky, lamp, shadow, glint = np.moveaxis(found, -2, 0)
    far2, across2 = along * along + across * across, across * across
    disc[...] = _soft((1 - np.sqrt(far2)) / blur)
    np.subtract(1, disc, out=panel)
    up = np.sqrt(np.maximum(1 - far2, 0))
    np.multiply(disc, up, out=sky)
    np.multiply(disc, np.maximum(along * LAMP_LOW + up * LAMP_HIGH, 0), out=lamp)
    beyond = along + THROWN
    thrown = _soft((1 - np.sqrt(beyond * beyond + across2)) / np.hypot(blur, PENUMBRA))
    np.multiply(thrown, panel, out=shadow)
    before = along - GLINT_AT
    np.exp((before * before + across2) * (-0.5 / (GLINT**2 + blur * blur)), out=glint)
    return found


def _soft(far: NDArray[np.floating]) -> Singles:
    """A step from 0 to 1 about 0, in single steps of its blur."""
    return np.asarray(0.5 + 0.5 * np.tanh(far), np.float32)


@dataclass(frozen=True)
class Circles:
    """A circle in each of k pictures: middle (k, 2) from the picture's, radius (k,), in its points; what it leaves
    unexplained (k,).
    """

    middle: Floats
    radius: Floats
    left: Floats


def _solved(products: Floats, match: Floats) -> Floats:
    """Strengths (..., 6) of patterns, a little stiffened by their mean strength."""
    stiff = STIFF / match.shape[-1] * np.trace(products, axis1=-2, axis2=-1)[..., None, None]
    return np.asarray(np.linalg.solve(products + stiff * np.eye(match.shape[-1]), match[..., None])[..., 0], float)


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
    products : ndarray (m, 21, n)
        Of each two patterns.
    """

    towards: Floats
    middle: Floats
    radius: Floats
    shapes: Singles
    products: Singles

    @classmethod
    def lit_from(cls, towards: Floats, reach: int) -> "Domes":
        """Domes for pictures that reach so many points to each side."""
        radius, along, across = (v.ravel() for v in np.meshgrid(RADII * reach, ALONG, ACROSS, indexing="ij"))
        aside = np.array([-towards[1], towards[0]])
        middle = radius[:, None] * (along[:, None] * -towards + across[:, None] * aside)
        seen = np.hypot(*middle.T) + radius < reach
        radius, middle = radius[seen], middle[seen]
        shapes = _lit(*points(reach), np.column_stack([middle, radius]), towards)
        one, other = np.triu_indices(shapes.shape[1])
        return cls(towards, middle, radius, shapes, shapes[:, one] * shapes[:, other])

    def best(self, pictures: Pictures, larger: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        """Middle (k, 2) and radius (k,) of the domes that explain the pictures best, and whether one that is so much
        larger than the dot (natural log) explains it better than smaller ones do.
        """
        kinds, (count, patterns_each, n) = len(pictures), self.shapes.shape
        own = pictures.radius[:, None]
        # A part lies in its dome, nearly.
        holds = np.hypot(*self.middle.T) <= np.maximum(self.radius - (1 - OUTSIDE) * own, OUTSIDE * own)
        kind, dome = np.nonzero(holds & (self.radius > np.exp(-larger) * own))
        weight, weighed = pictures.weight.T, (pictures.weight * pictures.light).T
        upper = (self.products.reshape(-1, n) @ weight).reshape(count, -1, kinds)[dome, :, kind]
        match = (self.shapes.reshape(-1, n) @ weighed).reshape(count, -1, kinds)[dome, :, kind].astype(float)
        one, other = np.triu_indices(patterns_each)
        products = np.empty((len(kind), patterns_each, patterns_each))
        products[:, one, other] = products[:, other, one] = upper
        gain = np.full((kinds, count), -np.inf)
        gain[kind, dome] = (_solved(products, match) * match).sum(1)
        k = gain.argmax(1)
        return self.middle[k], self.radius[k], np.log(self.radius[k] / pictures.radius) >= larger

    def fitted(
        self, pictures: Pictures, middle: Floats, radius: Floats, most: float = 1.2, hopeless: Floats | None = None
    ) -> Circles:
        """The domes near these that explain the pictures best, at most so many times as large or small.

        What still leaves more than `hopeless` (k,) after a few steps is not followed further.
        """
        at = np.column_stack([middle, radius])
        best, least = at.copy(), np.full(len(at), np.inf)
        going, last = np.arange(len(at)), np.zeros(len(at), bool)
        for taken in range(STEPS + 1):
            here = at[going]
            nudge = here[:, None, 2:]
            left = _left(pictures.take(going), here[:, None] + NUDGES * nudge, self.towards)
            rest = np.einsum("kn,kn->k", left[:, 0], left[:, 0]).astype(float)
            better = rest < least[going]
            best[going[better]], least[going[better]] = here[better], rest[better]
            if taken == FEW_STEPS and hopeless is not None:
                last |= least[going] > hopeless[going]
            if taken == STEPS or last.all():
                break
            going, here, left, nudge = going[~last], here[~last], left[~last], nudge[~last]
            slope = ((left[:, 1:] - left[:, :1]) / (NUDGE * nudge)).astype(float)
            pull = -(slope @ left[:, 0, :, None].astype(float))
            step = np.linalg.solve(slope @ slope.transpose(0, 2, 1) + 1e-9 * np.eye(3), pull)[..., 0]
            size = here[:, 2:].copy()
            here += np.clip(step, -FARTHEST * size, FARTHEST * size)
            here[:, 2] = np.clip(here[:, 2], radius[going] / most, radius[going] * most)
            at[going] = here
            last = np.abs(step).max(1) < DONE * here[:, 2]
        return Circles(best[:, :2], best[:, 2], least)


def _left(pictures: Pictures, tries: Floats, towards: Floats) -> Singles:
    """What domes (k, t, 3), x, y and radius, leave unexplained of their pictures (k, t, n), weighed."""
    root = np.sqrt(pictures.weight)[:, None]
    shapes = _lit(pictures.x[:, None], pictures.y[:, None], tries, towards)
    shapes *= root[:, :, None]
    seen = pictures.light[:, None] * root
    products = shapes @ shapes.swapaxes(-1, -2)
    strengths = _solved(products.astype(float), (shapes @ seen[..., None])[..., 0].astype(float))
    return np.asarray(seen - (strengths.astype(np.float32)[..., None, :] @ shapes)[..., 0, :], np.float32)


def _lit(x: Singles, y: Singles, domes: Floats, towards: Floats) -> Singles:
    """The patterns (..., 6, n) at points (..., n) of domes (..., 3): x, y and radius."""
    at = domes.astype(np.float32)[..., None]
    u, v = (x - at[..., 0, :]) / at[..., 2, :], (y - at[..., 1, :]) / at[..., 2, :]
    right, down = towards.astype(np.float32)
    return patterns(u * right + v * down, v * right - u * down, np.float32(BLUR) / at[..., 2, :])
