"""The colours hold on any panel, in grey and for colour-blind eyes."""

import cv2
import numpy as np
import pytest

from aligncheck.overlay.colours import BONE, DARK, INK, LIGHT, MOVE, PLAN, contrast

#: Complete loss of one kind of cone, for linear RGB: Machado, Oliveira & Fernandes, IEEE TVCG 15 (2009) 1291.
EYES = {
    "normal": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def lab(colour, eye="normal"):
    linear = np.array([c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in np.array(colour) / 255])
    seen = np.clip(np.array(EYES[eye]) @ linear, 0, 1)
    code = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return cv2.cvtColor(code.astype(np.float32).reshape(1, 1, 3), cv2.COLOR_RGB2LAB)[0, 0]


@pytest.mark.parametrize("eye", EYES)
def test_drawn_and_plan_differ_for_every_eye(eye):
    """80 is a difference nobody can miss (2.3 is just noticeable)."""
    assert np.linalg.norm(lab(MOVE, eye) - lab(PLAN, eye)) > 80


@pytest.mark.parametrize("core", [MOVE, PLAN, BONE])
def test_every_core_stands_out_from_its_casing(core):
    """So a cased line is seen on black by its core and on white by its casing; in grey too."""
    assert contrast(core, INK) >= 7.8


@pytest.mark.parametrize("theme", [DARK, LIGHT])
def test_text_can_be_read(theme):
    """7 to 1 is the strictest level of WCAG 2.2 for text; second-rank text must reach 6."""
    assert contrast(theme.text, theme.ground) >= 7
    assert contrast(theme.quiet, theme.ground) >= 6


def test_contrast_matches_the_definition():
    """Black on white is 21 to 1, anything on itself 1 to 1."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast(MOVE, MOVE) == pytest.approx(1.0)
