"""Units, and documents that are not to be trusted."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extension.document.svg_document import DocumentError, parse_document, units
from extension.document.write_files import write_files
from tests.help.blocks.drawings import page, root_of

#: CSS Values and Units 3: 1in = 96px = 25.4mm = 72pt = 6pc; SVG 2: a unit is a px by itself.
PX = 25.4 / 96


@pytest.mark.parametrize(
    ("attributes", "millimetres"),
    [
        ("", PX),
        ('width="300" height="400"', PX),
        ('width="300mm" height="400mm" viewBox="0 0 300 400"', 1.0),
        ('width="30cm" height="40cm" viewBox="0 0 300 400"', 1.0),
        ('width="10in" height="20in" viewBox="0 0 10 20"', 25.4),
        ('width="10in" height="20in" viewBox="-5 -5 960 1920"', PX),
        ('width="96" height="96" viewBox="0 0 48 48"', 2 * PX),
        ('width="72pt" height="72pt" viewBox="0 0 1 1"', 25.4),
        ('viewBox="0 0 300 400"', PX),
        ('width="100%" height="100%" viewBox="0 0 300 400"', PX),
        ('width="300mm" viewBox="0 0 300 400"', 1.0),
        # SVG 2, preserveAspectRatio: xMidYMid meet takes the smaller scale, slice the larger.
        ('width="300mm" height="400mm" viewBox="0 0 300 800"', 0.5),
        (
            'width="300mm" height="400mm" viewBox="0 0 300 800" '
            'preserveAspectRatio="xMidYMid slice"',
            1.0,
        ),
        ('width="210mm" height="297mm" viewBox="0 0 793.70079 1122.5197"', 210 / 793.70079),
    ],
)
def test_millimetres_to_a_unit(attributes: str, millimetres: float) -> None:
    assert units(root_of(page("", attributes))) == pytest.approx(millimetres, rel=1e-9)


@pytest.mark.parametrize(
    "attributes",
    [
        'width="300mm" height="400mm" viewBox="0 0 300 800" preserveAspectRatio="none"',
        'width="300mm" height="400mm" viewBox="0 0 0 800"',
        'width="300mm" height="400mm" viewBox="0 0 300"',
        'width="300miles" height="400mm" viewBox="0 0 300 400"',
        'width="0mm" height="400mm" viewBox="0 0 300 400"',
    ],
)
def test_pages_without_a_scale_are_refused(attributes: str) -> None:
    with pytest.raises(DocumentError) as caught:
        units(root_of(page("", attributes)))
    assert caught.value.remedy


@given(st.binary(max_size=200))
def test_no_bytes_give_anything_but_a_document_or_a_message(data: bytes) -> None:
    said = None
    try:
        parse_document(data)
    except DocumentError as error:
        said = error
    assert said is None or said.remedy


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_are_never_expanded(encoding: str, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    for entity in ('"ha"', f'SYSTEM "{secret.as_uri()}"'):
        text = (
            f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE svg [<!ENTITY a {entity}>]>'
            '<svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>'
        )
        with pytest.raises(DocumentError, match="entities"):
            parse_document(text.encode(encoding))


def test_a_plain_doctype_is_no_harm() -> None:
    text = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg xmlns="http://www.w3.org/2000/svg"/>'
    )
    assert parse_document(text.encode()).getroot() is not None


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    write_files([(str(file), b"one")])
    write_files([(str(file), b"two")])
    assert file.read_bytes() == b"two"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.svg"]
    with pytest.raises(DocumentError, match="cannot be written"):
        write_files([(str(tmp_path / "missing" / "a.svg"), b"three")])
    with pytest.raises(DocumentError):
        write_files([(str(file), b"four"), (str(tmp_path), b"four")])
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.svg"]
