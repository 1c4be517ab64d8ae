"""Pieces that look a little like a bodice, a sleeve, a yoke, trousers or a skirt, and are none.

Princess panels, boxy tops, raglan, kimono, halter, gores, pockets, flaps, cuffs, collars, hoods and
more, with invented proportions: to see that no seam of theirs gets a name that is not its own.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import numpy as np

from tests.help.scans.fresh.lines import cubic
from tests.help.scans.fresh.pieces import (
    Piece,
    Run,
    _DartPlan,
    _outline,
    _with_dart,
)

Bends = list[tuple[float, float]]
FLAT = (0.0, 0.0)


def _bow(rng: random.Random, most: float) -> tuple[float, float]:
    by = rng.choice((0.0, rng.uniform(-most, most)))
    return (by, -by)


def princess_from_shoulder(rng: random.Random) -> Piece:
    """Return the panel at the centre of a front or back whose seam runs from the shoulder."""
    neck, drop = rng.uniform(60, 90), rng.choice((rng.uniform(18, 35), rng.uniform(70, 180)))
    tip = complex(neck + rng.uniform(40, 90), rng.uniform(10, 35))
    height, width = rng.uniform(330, 480), rng.uniform(70, 150)
    centre = "centre front" if drop > 50 else "centre back"
    return _outline(
        "princess",
        [complex(0, drop), neck + 0j, tip, complex(width, height - rng.uniform(0, 12)),
         complex(0, height)],
        ["neckline", "shoulder", "princess seam", "waist", centre],
        [(rng.uniform(0.2, 0.7), -rng.uniform(0.2, 0.7)), FLAT,
         (rng.uniform(-0.2, 0.3), rng.uniform(-0.3, 0.2)), _bow(rng, 0.06), FLAT],
    )  # fmt: skip


def princess_from_armhole(rng: random.Random) -> Piece:
    """Return the panel at the centre whose seam runs from the armhole."""
    neck, drop = rng.uniform(60, 85), rng.choice((rng.uniform(18, 35), rng.uniform(70, 120)))
    tip = complex(neck + rng.uniform(90, 130), rng.uniform(25, 50))
    mid = complex(tip.real - rng.uniform(5, 30), tip.imag + rng.uniform(70, 140))
    height, width = rng.uniform(330, 480), rng.uniform(80, 160)
    centre = "centre front" if drop > 50 else "centre back"
    return _outline(
        "princess",
        [complex(0, drop), neck + 0j, tip, mid, complex(width, height), complex(0, height)],
        ["neckline", "shoulder", "armhole", "princess seam", "waist", centre],
        [(rng.uniform(0.2, 0.7), -rng.uniform(0.2, 0.7)), FLAT, (0.15, -0.12),
         (rng.uniform(-0.3, 0.1), rng.uniform(-0.1, 0.3)), _bow(rng, 0.06), FLAT],
    )  # fmt: skip


def side_panel(rng: random.Random) -> Piece:
    """Return the side panel of a bodice with princess seams."""
    width, height = rng.uniform(90, 160), rng.uniform(180, 330)
    top = complex(rng.uniform(-20, 30), -rng.uniform(40, 120))
    return _outline(
        "side panel",
        [top, complex(width, 0), complex(width - rng.uniform(0, 25), height), complex(0, height)],
        ["armhole", "side seam", "waist", "princess seam"],
        [(rng.uniform(0.2, 0.5), -rng.uniform(0.3, 0.7)), _bow(rng, 0.05), _bow(rng, 0.05),
         (rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.3))],
    )  # fmt: skip


def boxy(rng: random.Random) -> Piece:
    """Return a top whose side runs straight from the shoulder to the hem, opening and all."""
    neck, drop = rng.uniform(60, 110), rng.choice((rng.uniform(15, 35), rng.uniform(60, 120)))
    width, height = rng.uniform(180, 360), rng.uniform(200, 700)
    slope = rng.uniform(0, 50)
    centre = "centre front" if drop > 50 else "centre back"
    return _outline(
        "boxy",
        [complex(0, drop), neck + 0j, complex(width, slope),
         complex(width + rng.uniform(-10, 40), height), complex(0, height)],
        ["neckline", "shoulder", "side and sleeve", "hem", centre],
        [(rng.uniform(0.2, 0.7), -rng.uniform(0.2, 0.7)), FLAT, _bow(rng, 0.04), _bow(rng, 0.05),
         FLAT],
    )  # fmt: skip


def kimono(rng: random.Random) -> Piece:
    """Return a bodice with its sleeve cut on."""
    neck, drop = rng.uniform(60, 90), rng.choice((rng.uniform(15, 35), rng.uniform(60, 120)))
    reach = neck + rng.uniform(220, 620)
    fall, width = rng.uniform(30, 260), rng.uniform(190, 300)
    height, opening = rng.uniform(380, 620), rng.uniform(90, 200)
    wrist = complex(reach, fall)
    under = wrist + complex(-rng.uniform(10, 60), opening)
    centre = "centre front" if drop > 50 else "centre back"
    return _outline(
        "kimono",
        [complex(0, drop), neck + 0j, wrist, under, complex(width, height), complex(0, height)],
        ["neckline", "shoulder and sleeve", "wrist", "underarm and side", "hem", centre],
        [(rng.uniform(0.2, 0.7), -rng.uniform(0.2, 0.7)), _bow(rng, 0.08), FLAT,
         (rng.uniform(0.2, 0.7), -rng.uniform(0.2, 0.7)), _bow(rng, 0.05), FLAT],
    )  # fmt: skip


def raglan_bodice(rng: random.Random) -> Piece:
    """Return a bodice whose armhole runs up to the neckline."""
    drop = rng.choice((rng.uniform(15, 30), rng.uniform(60, 110)))
    neck = complex(rng.uniform(40, 80), drop * rng.uniform(0.2, 0.6))
    under = complex(rng.uniform(190, 290), rng.uniform(170, 240))
    height = rng.uniform(330, 700)
    centre = "centre front" if drop > 50 else "centre back"
    return _outline(
        "raglan",
        [complex(0, drop), neck, under, complex(under.real - rng.uniform(-20, 20), height),
         complex(0, height)],
        ["neckline", "raglan seam", "side seam", rng.choice(("waist", "hem")), centre],
        [(rng.uniform(0.1, 0.6), -rng.uniform(0.1, 0.6)),
         (rng.uniform(-0.15, 0.3), -rng.uniform(0.1, 0.7)), _bow(rng, 0.05), _bow(rng, 0.06),
         FLAT],
    )  # fmt: skip


def raglan_sleeve(rng: random.Random) -> Piece:
    """Return half a raglan sleeve: neckline, raglan seam, underarm seam, wrist, shoulder line."""
    width, cap, length = rng.uniform(140, 220), rng.uniform(180, 260), rng.uniform(380, 720)
    neck = rng.uniform(20, 60)
    return _outline(
        "raglan sleeve",
        [0j, complex(neck, rng.uniform(-5, 15)), complex(width, cap),
         complex(width * rng.uniform(0.5, 0.85), length), complex(0, length)],
        ["neckline", "raglan seam", "underarm seam", "wrist", "shoulder line"],
        [_bow(rng, 0.2), (rng.uniform(-0.15, 0.3), -rng.uniform(0.1, 0.6)), _bow(rng, 0.03), FLAT,
         (rng.uniform(-0.2, 0.2), rng.uniform(-0.2, 0.2))],
    )  # fmt: skip


def two_piece_sleeve(rng: random.Random) -> Piece:
    """Return the upper or under part of a sleeve in two parts."""
    width, cap, length = rng.uniform(120, 230), rng.uniform(60, 140), rng.uniform(420, 620)
    is_upper = rng.random() < 0.5
    bend = rng.uniform(0.05, 0.2)
    lean = rng.uniform(10, 60)
    head = (rng.uniform(-1.0, -0.3), rng.uniform(0.3, 1.0)) if is_upper else (0.4, -0.4)
    return _outline(
        "two-piece sleeve",
        [complex(0, cap), complex(width, cap - rng.uniform(-40, 40)),
         complex(width * rng.uniform(0.6, 0.8) + lean, length), complex(lean, length)],
        ["cap", "hind seam", "wrist", "fore seam"],
        [head, (-bend, bend), FLAT, (-bend, bend)],
    )  # fmt: skip


def halter(rng: random.Random) -> Piece:
    """Return a front without shoulders that ties about the neck."""
    neck, drop = rng.uniform(40, 90), rng.uniform(60, 220)
    strap = rng.uniform(15, 40)
    under = complex(rng.uniform(180, 280), rng.uniform(200, 280))
    height = rng.uniform(350, 480)
    return _outline(
        "halter",
        [complex(0, drop), neck + 0j, neck + strap + 5j, under,
         complex(under.real * rng.uniform(0.8, 1.0), height), complex(0, height)],
        ["neckline", "strap", "armhole", "side seam", "waist", "centre front"],
        [(rng.uniform(0.1, 0.7), -rng.uniform(0.1, 0.7)), FLAT,
         (rng.uniform(0.1, 0.4), -rng.uniform(0.3, 0.8)), FLAT, _bow(rng, 0.05), FLAT],
    )  # fmt: skip


def centre_gore(rng: random.Random) -> Piece:
    """Return half the centre gore of a skirt in six or eight parts."""
    waist, length = rng.uniform(45, 120), rng.uniform(330, 800)
    flare, bow = rng.uniform(30, 200), rng.uniform(0.0, 0.08)
    return _outline(
        "gore",
        [
            0j,
            complex(waist, -rng.uniform(0, 8)),
            complex(waist + flare, length - 0.1 * flare),
            complex(0, length),
        ],
        ["waist", "gore seam", "hem", "centre front"],
        [(bow, -bow), (-rng.uniform(0.0, 0.14), rng.uniform(0.0, 0.06)), (bow, -bow), FLAT],
    )


def patch_pocket(rng: random.Random) -> Piece:
    """Return a pocket or a flap: rounded, pointed, or with a bell-shaped edge."""
    width, height = rng.uniform(100, 260), rng.uniform(80, 260)
    inset = rng.uniform(-12, 15)
    kind = rng.choice(("round", "bell", "pointed", "plain"))
    corners = [0j, complex(width, 0), complex(width - inset, height), complex(inset, height)]
    seams = ["opening", "side", "lower edge", "side"]
    bends: Bends = [FLAT, FLAT, FLAT, FLAT]
    if kind == "round":
        by = rng.uniform(0.2, 1.2)
        bends[2] = (-by, by)
    elif kind == "pointed":
        corners.insert(3, complex(width / 2, height + rng.uniform(20, 60)))
        seams, bends = ["opening", "side", "edge", "edge", "side"], [FLAT] * 5
    piece = _outline("pocket", corners, seams, bends)
    if kind == "bell":
        left, right = corners[3], corners[2]
        low = complex(width / 2, height + rng.uniform(0.1, 0.3) * width)
        steep = rng.uniform(0.0, 0.25)
        half = -math.atan2(low.imag - height, width / 2)
        edge = np.concatenate([
            cubic(right, low, steep, -half * rng.uniform(0.8, 1.0))[:-1],
            cubic(low, left, half * rng.uniform(0.8, 1.0), -steep),
        ])  # fmt: skip
        runs = list(piece.runs)
        runs[2] = Run("lower edge", edge)
        piece = Piece("pocket", tuple(runs))
    return piece


def side_pocket(rng: random.Random) -> Piece:
    """Return a trousers' pocket bag: straight at the side, with a hollow opening."""
    width, height = rng.uniform(130, 190), rng.uniform(230, 330)
    opening = complex(width - rng.uniform(40, 80), 0)
    return _outline(
        "pocket bag",
        [0j, opening, complex(width, rng.uniform(120, 170)), complex(width, height),
         complex(0, height)],
        ["waist edge", "opening", "side", "bottom", "inner edge"],
        [FLAT, (rng.uniform(0.1, 0.7), -rng.uniform(0.1, 0.7)), FLAT,
         (-rng.uniform(0.0, 0.4), rng.uniform(0.0, 0.4)), FLAT],
    )  # fmt: skip


def collar(rng: random.Random) -> Piece:
    """Return half a collar, a stand, or a cuff."""
    length, width = rng.uniform(140, 260), rng.uniform(35, 110)
    return _outline(
        "collar",
        [0j, complex(length, rng.uniform(-20, 20)),
         complex(length + rng.uniform(-10, 40), width + rng.uniform(-10, 20)),
         complex(0, width)],
        ["neck edge", "front edge", "outer edge", "fold"],
        [(rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4)), _bow(rng, 0.2),
         (rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4)), FLAT],
    )  # fmt: skip


def hip_yoke(rng: random.Random) -> Piece:
    """Return half a skirt's or trousers' yoke at the hip."""
    width, depth = rng.uniform(150, 260), rng.uniform(50, 130)
    bow = rng.uniform(0.02, 0.25)
    return _outline(
        "hip yoke",
        [
            0j,
            complex(width, -rng.uniform(5, 50)),
            complex(width + rng.uniform(5, 40), depth - rng.uniform(5, 50)),
            complex(0, depth),
        ],
        ["waist", "side seam", "yoke seam", "centre"],
        [(bow, -bow), (-rng.uniform(0.0, 0.12), rng.uniform(0.0, 0.06)), (bow, -bow), FLAT],
    )


def cape(rng: random.Random) -> Piece:
    """Return a quarter of a cape or of a circle skirt."""
    neck, length = rng.uniform(50, 130), rng.uniform(150, 700)
    angle = rng.uniform(0.4, math.pi / 2)
    turn = complex(math.cos(angle), math.sin(angle))
    return _outline(
        "cape",
        [
            complex(0, neck),
            -1j * turn * 1j * neck + 0j,
            neck * turn * 1.0 + length * turn,
            complex(0, neck + length),
        ],
        ["inner edge", "side", "outer edge", "centre"],
        [(angle / 2, -angle / 2), FLAT, (angle / 2, -angle / 2), FLAT],
    )


def hood(rng: random.Random) -> Piece:
    """Return half a hood."""
    width, height = rng.uniform(200, 280), rng.uniform(280, 370)
    return _outline(
        "hood",
        [complex(rng.uniform(-10, 30), 0), complex(width, rng.uniform(-20, 20)),
         complex(width - rng.uniform(0, 50), height), complex(0, height + rng.uniform(-30, 30))],
        ["top", "back", "neck edge", "face edge"],
        [(rng.uniform(-0.6, 0.0), rng.uniform(0.0, 0.9)), (rng.uniform(-0.3, 0.2), 0.2),
         (rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.3)), _bow(rng, 0.1)],
    )  # fmt: skip


def trouser_panel(rng: random.Random) -> Piece:
    """Return half a leg of trousers cut in four: crease seam in place of side seam or inseam."""
    rise, hip = rng.uniform(220, 280), rng.uniform(100, 150)
    length, fork = rng.uniform(380, 1000), rng.uniform(40, 95)
    inset = rng.uniform(10, 25)
    corners = [
        complex(fork + inset, 0.0), complex(fork + inset + hip * 0.8, -rng.uniform(0, 8)),
        complex(fork + hip * 0.8, length), complex(fork * 0.4, length), complex(0.0, rise),
    ]  # fmt: skip
    return _outline(
        "trouser panel",
        corners,
        ["waist", "crease seam", "hem", "inseam", "crotch seam"],
        [_bow(rng, 0.05), (rng.uniform(-0.1, 0.1), rng.uniform(-0.05, 0.05)), FLAT,
         (rng.uniform(0.0, 0.05), -rng.uniform(0.02, 0.08)),
         (rng.uniform(0.75, 1.0), -rng.uniform(0.2, 0.35))],
    )  # fmt: skip


def wrap_front(rng: random.Random) -> Piece:
    """Return a front that crosses over: its neckline runs to the waist."""
    neck, beyond = rng.uniform(60, 90), rng.uniform(60, 160)
    tip = complex(neck + rng.uniform(95, 130), rng.uniform(32, 55))
    under = complex(rng.uniform(200, 290), rng.uniform(180, 220))
    height = rng.uniform(350, 450)
    return _outline(
        "wrap",
        [complex(-beyond, height), complex(neck, 0), tip, under,
         complex(under.real - rng.uniform(0, 30), height)],
        ["neckline", "shoulder", "armhole", "side seam", "waist"],
        [(rng.uniform(-0.1, 0.15), rng.uniform(-0.15, 0.1)), FLAT,
         (rng.uniform(0.3, 0.55), -rng.uniform(0.7, 1.0)), FLAT, _bow(rng, 0.05)],
    )  # fmt: skip


def any_polygon(rng: random.Random) -> Piece:
    """Return a shape of four to six bowed sides that is nothing at all."""
    count = rng.choice((4, 4, 5, 5, 6, 6))
    angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(count))
    while (
        min((b - a) % (2 * math.pi) for a, b in zip(angles, [*angles[1:], angles[0]], strict=True))
        < 0.5
    ):
        angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(count))
    corners = [rng.uniform(100, 330) * complex(math.cos(a), math.sin(a)) for a in angles]
    bends = [rng.choice((FLAT, (rng.uniform(-0.5, 0.5), rng.uniform(-0.5, 0.5)))) for _ in corners]
    return _outline("nothing", corners, [f"side {chr(97 + k)}" for k in range(count)], bends)


OTHERS: dict[str, Callable[[random.Random], Piece]] = {
    made.__name__: made
    for made in (
        princess_from_shoulder, princess_from_armhole, side_panel, boxy, kimono, raglan_bodice,
        raglan_sleeve, two_piece_sleeve, halter, centre_gore, patch_pocket, side_pocket, collar,
        hip_yoke, cape, hood, trouser_panel, wrap_front, any_polygon,
    )
}  # fmt: skip


def other_piece(rng: random.Random, kind: str = "") -> Piece:
    """Return a piece of such a kind, with a dart in some of its seams at times."""
    piece = OTHERS[kind or rng.choice(list(OTHERS))](rng)
    if rng.random() < 0.35:
        seam = rng.choice([run.seam for run in piece.runs])
        plan = _DartPlan(seam, rng.uniform(0.35, 0.65), rng.uniform(40, 110),
                         rng.uniform(8, 30), rng.uniform(-5, 5))  # fmt: skip
        try:
            return _with_dart(piece, plan) or piece
        except (IndexError, ValueError):
            return piece
    return piece
