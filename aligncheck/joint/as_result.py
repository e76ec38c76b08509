"""A joint check as the result file's plain dictionary: the same keys, `photo` a list."""

from typing import Any

from aligncheck.joint.front import JointCheck
from aligncheck.result.as_result import as_result, number, pair, photo_part


def as_joint_result(joint: JointCheck) -> dict[str, Any]:
    """Lay a joint check out under the fixed keys.

    Each photo has its `corners_px` (in its own order, top left as that photo shows it), whether it was `used`, and
    `quarter_turns`: how often to turn its panel clockwise to stand as in the first photo.
    """
    together = joint.together
    places = {i: k for k, i in enumerate(together.used)}
    reasons = dict(together.left_out)
    entries = []
    for i, measured in enumerate(joint.photos):
        k = places.get(i)
        panel = measured.marks.panel if k is None else together.panels[k]
        entries.append(
            {
                **photo_part(measured.photo()),
                "corners_px": [pair(c) for c in panel.corners_px],
                "used": k is not None,
                "quarter_turns": None if k is None else together.quarters[k],
                "map_chi2": None if k is None else number(together.map_chi2[k]),
                "left_out": reasons[i].text if i in reasons else None,
            }
        )
    return {**as_result(joint), "photo": entries}
