"""The DXF as a program reads it that shares no code with the one that wrote it: the DXF driver of GDAL, by pyogrio."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely

from engineering.core.contract import parse
from reports.drawing.dxf import LAYERS
from tests.reports.documents import NAMES, example
from tests.reports.test_dxf import dxf_of, entities


def read_elsewhere(data: bytes, folder: Path) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """Layer and shape of each entity, and every text."""
    file = folder / "drawing.dxf"
    file.write_bytes(data)
    about, _, shapes, columns = pyogrio.raw.read(file)
    named = dict(zip(about["fields"], columns, strict=True))
    words = [text.encode("latin-1").decode("utf-8") for text in named["Text"] if text]  # handed over byte by byte
    return named["Layer"], shapely.from_wkb(shapes), words


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_another_program_finds_the_piece_in_true_size_and_every_word(name: str, turned: bool, tmp_path: Path) -> None:
    data, piece = dxf_of(example(name), turned=turned), parse(example(name))
    layers, shapes, texts = read_elsewhere(data, tmp_path)
    assert all(shape is not None and not shape.is_empty for shape in shapes)
    assert set(layers) <= {layer for layer, _ in LAYERS.values()} | {"Defpoints"}
    outlines = shapes[layers == LAYERS["outline"][0]]
    long = piece.length_in * (25.4 if piece.units == "si" else 1)
    assert max(right - left for left, _, right, _ in shapely.bounds(outlines)) == pytest.approx(long, rel=1e-6)
    written = [each[1][0] for each in entities(data) if each[0] == ["TEXT"]]
    assert not set(written) - set(texts)


@pytest.mark.parametrize("name", NAMES)
def test_another_program_finds_the_foam_and_the_concrete_as_closed_areas(name: str, tmp_path: Path) -> None:
    layers, shapes, _ = read_elsewhere(dxf_of(example(name)), tmp_path)
    areas = shapes[layers == "HATCH"]
    assert len(areas) > 0
    assert all(area.geom_type in ("Polygon", "MultiPolygon") and area.is_valid and area.area > 0 for area in areas)
    assert all(shapely.get_coordinates(ring)[0] == pytest.approx(shapely.get_coordinates(ring)[-1])
               for ring in shapes[layers == "FOAM"])
