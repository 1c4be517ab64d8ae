"""Roles as drafters type them."""

from __future__ import annotations

import pytest
from lxml import etree

from drafting_core.model.seam_names import SeamLabel
from drafting_core.text.errors import DraftingError
from extension.document import roles
from extension.document.roles import parse_label, role_of
from tests.help.blocks.drawings import NS


def element(**attributes: str) -> etree._Element:
    made = etree.Element("{http://www.w3.org/2000/svg}circle", nsmap=NS)
    for name, value in attributes.items():
        prefix, _, local = name.partition("__")
        made.set(f"{{{NS[prefix]}}}{local}" if local else name, value)
    return made


@pytest.mark.parametrize(
    ("label", "word"),
    [
        ("outline", roles.OUTLINE),
        ("  Block   Outline ", roles.OUTLINE),
        ("OUTLINE 3", roles.OUTLINE),
        ("apex", roles.APEX),
        ("Bust Point 2", roles.APEX),
        ("apex copy", roles.APEX),
        ("apex (2)", roles.APEX),
        ("target", roles.TARGET),
        ("target seam", roles.TARGET),
        ("hold", roles.HOLD),
        ("dart", roles.DART),
        ("grain", roles.GRAIN),
        ("notch 12", roles.NOTCH),
        ("inner line", roles.INNER_LINE),
    ],
)
def test_words_of_roles(label: str, word: str) -> None:
    role = parse_label(label)
    assert role is not None
    assert role.word == word
    assert role.share is None


@pytest.mark.parametrize("label", ["", "outlined", "apex left", "pocket", "notched", "holdings 3"])
def test_other_words_are_no_roles(label: str) -> None:
    assert parse_label(label) is None


@pytest.mark.parametrize(
    ("label", "share"),
    [
        ("target 0.6", 0.6),
        ("target .25", 0.25),
        ("dart 0.5", 0.5),
        ("dart 0", 0.0),
        ("dart 2", None),
        ("target 2", None),
    ],
)
def test_shares(label: str, share: float | None) -> None:
    role = parse_label(label)
    assert role is not None
    assert role.share == share


@pytest.mark.parametrize(
    ("label", "seam"),
    [
        ("seam neckline", SeamLabel("neckline")),
        ("Seam Neckline 1/4in", SeamLabel("Neckline", 6.35)),
        ("seam hem 1 1/4in", SeamLabel("hem", 31.75)),
        ("seam side seam 1.5 cm", SeamLabel("side seam", 15.0)),
        ("seam centre front fold", SeamLabel("centre front", None, True)),
        ("seam CF fold 2", SeamLabel("CF", None, True)),
        ("seam waist 2", SeamLabel("waist")),
        ("seam 4", SeamLabel("seam 4")),
    ],
)
def test_seam_labels(label: str, seam: SeamLabel) -> None:
    role = parse_label(label)
    assert role is not None
    assert role.label == seam


def test_a_label_hides_the_id_and_an_attribute_wins_over_both() -> None:
    assert role_of(element(id="apex-2")).word == roles.APEX  # type: ignore[union-attr]
    assert role_of(element(id="apex", inkscape__label="pocket")) is None
    said = role_of(element(id="apex", inkscape__label="target 0.2", dartswing__share="0.7"))
    assert said is not None
    assert (said.word, said.share) == (roles.TARGET, 0.7)
    won = role_of(element(inkscape__label="apex", dartswing__role="hold"))
    assert won is not None
    assert won.word == roles.HOLD
    seam = role_of(
        element(inkscape__label="seam waist 1cm", dartswing__name="Hem", dartswing__fold="yes")
    )
    assert seam is not None
    assert seam.label == SeamLabel("Hem", 10.0, True)


def test_only_attributes_count_inside_a_result() -> None:
    assert role_of(element(inkscape__label="apex"), attributes_only=True) is None
    said = role_of(element(dartswing__role="apex"), attributes_only=True)
    assert said is not None
    assert said.word == roles.APEX


def test_a_layer_carries_no_role_by_its_label() -> None:
    made = element(inkscape__label="outline", inkscape__groupmode="layer")
    assert role_of(made) is None


def test_what_a_role_carries_has_to_be_readable() -> None:
    with pytest.raises(DraftingError, match="known length"):
        role_of(element(inkscape__label="known length about"))
    with pytest.raises(DraftingError, match="share"):
        role_of(element(inkscape__label="target", dartswing__share="most"))
