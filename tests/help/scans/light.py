"""Sheets in bad light and on bad paper: shadows, grey and yellow, pencil, white lines on blue."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Grey = NDArray[np.float32]


def _places(shape: tuple[int, ...]) -> tuple[Grey, Grey]:
    """Return how far right and down every dot lies, from 0 to 1."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    return x / shape[1], y / shape[0]


def _fall_off(rng: random.Random, shape: tuple[int, ...]) -> Grey:
    """Return the light of a lamp beside the sheet, which also a lens darkens in its corners."""
    x, y = _places(shape)
    turn = rng.uniform(0, 2 * np.pi)
    along = (x - 0.5) * np.cos(turn) + (y - 0.5) * np.sin(turn)
    away = (x - 0.5) ** 2 + (y - 0.5) ** 2
    light = 1.0 - rng.uniform(0.2, 0.5) * (along + 0.5) - rng.uniform(0.0, 0.3) * away
    return np.asarray(light, dtype=np.float32)


def _edge(rng: random.Random, shape: tuple[int, ...]) -> Grey:
    """Return how far beyond a bowed line through the sheet every dot lies, in dots."""
    x, y = _places(shape)
    turn = rng.uniform(0, 2 * np.pi)
    along = (x - 0.5) * np.cos(turn) + (y - 0.5) * np.sin(turn)
    across = (y - 0.5) * np.cos(turn) - (x - 0.5) * np.sin(turn)
    bow = rng.uniform(-0.4, 0.4) * across**2 + rng.uniform(-0.2, 0.2)
    return np.asarray((along + bow) * min(shape), dtype=np.float32)


def _shadow(rng: random.Random, shape: tuple[int, ...], soft: tuple[float, float]) -> Grey:
    """Return the light beside a shadow; how soft its edge is, in dots."""
    depth, width = rng.uniform(0.3, 0.5), rng.uniform(*soft)
    inside = 1.0 / (1.0 + np.exp(-np.clip(_edge(rng, shape) / width, -30, 30)))
    return np.asarray(1.0 - depth * inside, dtype=np.float32)


def shadowed(rng: random.Random, grey: Grey) -> Grey:
    """Return a sheet half in a deep shadow whose edge is soft."""
    light = _fall_off(rng, grey.shape) * _shadow(rng, grey.shape, (8.0, 40.0))
    return np.asarray(grey * light, dtype=np.float32)


def hard_shadowed(rng: random.Random, grey: Grey) -> Grey:
    """Return a sheet with two shadows whose edges are all but sharp, as in the sun."""
    light = _shadow(rng, grey.shape, (0.8, 2.5)) * _shadow(rng, grey.shape, (0.8, 6.0))
    return np.asarray(grey * light, dtype=np.float32)


def on_grey(rng: random.Random, grey: Grey) -> Grey:
    """Return a sheet of grey, clouded paper under uneven light."""
    x, y = _places(grey.shape)
    clouds = sum(
        0.04 * np.sin(rng.uniform(8, 30) * x + rng.uniform(8, 30) * y + rng.uniform(0, 7))
        for _ in range(3)
    )
    light = _fall_off(rng, grey.shape) * (rng.uniform(0.55, 0.8) + clouds)
    return np.asarray(grey * light, dtype=np.float32)


def in_pencil(rng: random.Random, grey: Grey) -> Grey:
    """Return a sheet drawn in pencil, in shadow: its lines are not much darker than its paper."""
    pale = 245.0 - (255.0 - grey) * rng.uniform(0.3, 0.5)
    light = _fall_off(rng, grey.shape) * _shadow(rng, grey.shape, (10.0, 40.0))
    return np.asarray(pale * light, dtype=np.float32)


def in_white(rng: random.Random, grey: Grey) -> Grey:
    """Return a sheet as a blueprint: white lines on dark, the light falling off."""
    bright = rng.uniform(35, 70) + (255.0 - grey) * rng.uniform(0.5, 0.75)
    return np.asarray(bright * _fall_off(rng, grey.shape), dtype=np.float32)


LIGHTS: dict[str, Callable[[random.Random, Grey], Grey]] = {
    "shadow": shadowed,
    "hard": hard_shadowed,
    "grey": on_grey,
    "pencil": in_pencil,
    "white": in_white,
}
#: The colour of the paper, or of the dark ground: yellow, blue; else grey.
_TINTS = {"grey": (1.0, 0.97, 0.8), "white": (0.55, 0.75, 1.25)}


def lit(rng: random.Random, image: Image.Image, light: str) -> Image.Image:
    """Return a picture of a sheet as it looks in a light.

    Args:
        rng: where chance comes from.
        image: the picture as a good scanner makes it, in grey.
        light: one of `LIGHTS`.
    """
    grey = LIGHTS[light](rng, np.asarray(image, dtype=np.float32))
    tint = _TINTS.get(light)
    if tint is None:
        return Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))
    colours = np.stack([np.clip(grey * part, 0, 255) for part in tint], axis=-1)
    return Image.fromarray(colours.astype(np.uint8))
