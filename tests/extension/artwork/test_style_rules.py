"""Style rules: which of them hold for an object, and which of them wins."""

from __future__ import annotations

import pytest
from lxml import etree

from extension.artwork.style_rules import StyleRules, declarations, style_text

BODY = """
<g id="q" class="p x"><path id="a" class="s" style="stroke:none"/><path id="b" data-n="ab cd"/>
<circle id="c" class="s t"/><g id="inner"><path id="d" fill="red"/><path id="e"/></g></g>
<rect id="r"/>
"""


def rules(sheet: str) -> tuple[StyleRules, etree._Element]:
    root = etree.fromstring(
        f'<svg xmlns="http://www.w3.org/2000/svg"><style>{sheet}</style>{BODY}</svg>'
    )
    return StyleRules(root), root


@pytest.mark.parametrize(
    ("selector", "expected"),
    [
        ("path", "abde"),
        ("*|path, rect", "abder"),
        (".s", "ac"),
        (".s.t", "c"),
        ("circle.s", "c"),
        ("#b", "b"),
        ("g path", "abde"),
        ("#q > path", "ab"),
        ("svg > g > g > path", "de"),
        ("path + path", "be"),
        ("path ~ circle", "c"),
        ("circle ~ path", ""),
        ("[data-n]", "b"),
        ("[data-n~=cd]", "b"),
        ("[data-n^='ab']", "b"),
        ("[data-n$=cd][data-n*='b c']", "b"),
        ("[class|=s]", "a"),
        ("path:first-child", "ad"),
        ("path:last-child", "e"),
        ("path:nth-child(2n)", "be"),
        ("path:nth-child(odd)", "ad"),
        ("path:nth-of-type(2)", "be"),
        ("path:not(.s)", "bde"),
        ("#q:hover path", ""),
        ("path::before", ""),
        ("path >", ""),
        ("..x", ""),
        (".x #inner > :first-child", "d"),
    ],
)
def test_which_objects_a_selector_picks(selector: str, expected: str) -> None:
    found, root = rules(f"{selector.replace('>', '&gt;')} {{ opacity:0.5 }}")
    picked = [
        str(e.get("id"))
        for e in root.iter()
        if e.get("id") and len(e.get("id")) == 1 and "opacity" in found.said_of(e)
    ]
    assert sorted(set(picked) - {"q"}) == sorted(expected)


@pytest.mark.parametrize(
    ("sheet", "name", "expected"),
    [
        ("path{stroke:a} .s{stroke:b} path{stroke:c}", "a", "none"),
        ("path{stroke:a !important} .s{stroke:b}", "a", "a"),
        ("path{stroke:a} path{stroke:b}", "b", "b"),
        ("#q path{stroke:a} g g path{stroke:b}", "d", "a"),
        ("path{stroke:a} /* path{stroke:b} */", "b", "a"),
        ("@media print{path{stroke:b}} @import 'x'; path{stroke:a}", "b", "a"),
        ("@font-face{font-family:x;src:url(y)} path{stroke:a}", "b", "a"),
        ("g{stroke:a}", "b", "a"),
        ("g{stroke:a} path{stroke:inherit}", "e", "a"),
        ("rect{stroke:x}", "b", "otherwise"),
        (";;} path{stroke:a", "b", "otherwise"),
    ],
)
def test_which_rule_wins(sheet: str, name: str, expected: str) -> None:
    found, root = rules(sheet)
    [element] = root.xpath("//*[@id=$name]", name=name)
    assert found.value(element, "stroke", "otherwise") == expected


def test_an_attribute_gives_way_to_a_rule_and_effects_are_not_inherited() -> None:
    found, root = rules("#d{fill:blue} #q{opacity:0.4;filter:url(#f)}")
    [d] = root.xpath("//*[@id='d']")
    assert found.value(d, "fill", "black") == "blue"
    assert found.value(d, "opacity", "1") == "1"
    assert found.value(d, "filter", "none") == "none"


def test_a_style_is_read_and_written_again() -> None:
    text = "fill:url('data:image/png;base64,AA;=');stroke:red !important;font-family:'a;b'"
    said = declarations(text)
    assert list(said) == ["fill", "stroke", "font-family"]
    assert said["stroke"].is_important
    assert style_text(said) == text
    assert declarations("; a ;b:;:c;D : e ;") == declarations("b:;d:e")
