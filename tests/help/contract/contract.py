"""An independent reading of a drafted result: every rule of the contract that can be measured."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from lxml import etree
from shapely.geometry import Polygon

from tests.help.blocks.random_blocks import Block, Points, flatten, nearest
from tests.help.contract.contract_darts import (
    build_paper,
    check_cap,
    check_cut_line,
    check_dart_marks,
    check_window,
    expected_excess,
    expected_fold,
    fold_chain,
    stitched,
)
from tests.help.contract.contract_model import (
    EXACT,
    INK,
    NS,
    SVG,
    Expectation,
    Model,
    Opening,
    Result,
    area,
    build_models,
    compare,
    length,
    observed_places,
    read_results,
    ring,
    true_name,
    with_softened,
)

SUBLAYERS = ("Stitch line", "Cut line", "Dart", "Marks")
REPORT_KEYS = {"name", "height_mm", "width_mm", "seams", "openings", "angle_before_deg",
               "angle_after_deg", "area_before_mm2", "area_after_mm2", "warnings"}
OPENING_KEYS = {"seam", "angle_deg", "intake_mm", "share", "fold", "excess", "why", "point_mm",
                "bend_deg", "folded"}


def _canonical(element: Any) -> bytes:
    return bytes(etree.tostring(element, method="c14n", exclusive=True, with_tail=False))


def check_input_kept(in_text: str, out_text: str, blocks: int = 1) -> Iterator[str]:
    """The input's elements unchanged, one new last child per block, well-formed layers."""
    before, after = etree.fromstring(in_text.encode()), etree.fromstring(out_text.encode())
    if dict(before.attrib) != dict(after.attrib):
        yield f"root attributes changed: {dict(before.attrib)} -> {dict(after.attrib)}"
    if len(after) != len(before) + blocks:
        yield f"root has {len(after)} children instead of {len(before)} + {blocks}"
    for old, new in zip(before, after, strict=False):
        if _canonical(old) != _canonical(new):
            yield f"input element {old.get('id')} changed"
    for layer in list(after)[len(before):]:
        if not layer.get(NS + "result", "").isdigit():
            yield "the new layer has no dartswing:result number"
        if layer.get(INK + "groupmode") != "layer" or not layer.get(INK + "label"):
            yield "the new layer is no labelled layer"
        groups = [e for e in layer.iter(SVG + "g") if e.get(INK + "groupmode") == "layer"]
        labels = [e.get(INK + "label") for e in groups]
        for name in SUBLAYERS:
            if labels.count(name) != 1:
                yield f"sub-layer '{name}' appears {labels.count(name)} times"
        for group in groups:
            if group.get("transform"):
                yield f"layer '{group.get(INK + 'label')}' carries a transform"
            if group.get(NS + "part"):
                yield f"layer '{group.get(INK + 'label')}' is marked as a part"


def check_parts(result: Result, darts: int) -> Iterator[str]:
    """Numbers of parts, their own ids, closed subpaths, decimals."""
    counts = {name: len(found) for name, found in result.parts.items()}
    exact = {"stitch-line": 1, "cut-line": 1, "cap": darts, "dart-leg": 2 * darts,
             "dart-point": darts, "dart-fold": darts, "fold-arrow": darts,
             "apex": 1, "grainline": 1, "test-square": 1}
    for name, number in exact.items():
        if counts.get(name, 0) != number:
            yield f"{counts.get(name, 0)} parts '{name}' instead of {number}"
    if counts.get("trim-window", 0) > darts:
        yield "more trim windows than darts"
    for name in ("note", "seam-name"):
        if not counts.get(name):
            yield f"no part '{name}'"
    seen: set[str] = set()
    for name, elements in result.parts.items():
        for element in elements:
            ident = element.get("id")
            if not ident or ident in seen:
                yield f"part '{name}' has a missing or doubled id {ident}"
            seen.add(ident or "")
            if name != "stitch-line" and element.get(NS + "self") != ident:
                yield f"part '{name}' {ident}: dartswing:self is {element.get(NS + 'self')}"
    for name in ("stitch-line", "cut-line"):
        for element in result.parts.get(name, []):
            if element.tag != SVG + "path":
                yield f"{name} is no path"
                continue
            subpaths = result.subpaths(element)
            if len(subpaths) != 1 or not subpaths[0][1]:
                yield f"{name} is not one closed subpath"
            short = [p for pieces, _ in subpaths for p in pieces if length(p) < 0.0099]
            if short:
                yield f"{name} has a segment of {length(short[0]):.6f} mm at {short[0][0]:.3f}"
            words = re.findall(r"\d+\.(\d+)", element.get("d", ""))
            fine = [w for w in words if len(w) >= 10]
            if len(fine) < 0.5 * len(words):
                yield f"{name}: only {len(fine)} of {len(words)} numbers have 10 decimals"
            if element.get("transform"):
                yield f"{name} carries a transform"
    if "stitch-line" in result.parts:
        outline = result.parts["stitch-line"][0]
        label = (outline.get(INK + "label") or "").strip().lower()
        if outline.get(NS + "role") != "outline" and not label.startswith("outline"):
            yield "the stitch line carries no role outline"
    for element in result.parts.get("apex", []):
        if element.get(NS + "role") != "apex":
            yield "the result's apex carries no role apex"


def seam_name_of(element: Any) -> str:
    """The seam a name part speaks of: its attribute, else its text."""
    return element.get(NS + "name") or " ".join("".join(element.itertext()).split())


def check_names(result: Result, model: Model, expectation: Expectation) -> Iterator[str]:
    """Names anchored within 3 mm of a seam of that name, in the drafter's spelling, none lost."""
    runs = expectation.drawing.block.runs
    names = expectation.drawing.names
    told = set()
    for element in result.parts.get("seam-name", []):
        name = seam_name_of(element)
        told.add(name)
        anchor = result.nodes(element)
        if not anchor:
            yield f"seam name '{name}' has no anchor"
            continue
        near = [(nearest(p.points, anchor[0])[1], p.run) for p in model.pieces if p.run >= 0]
        if min(near)[0] > 3.0:
            yield f"seam name '{name}' is anchored {min(near)[0]:.2f} mm from any seam"
        fitting = [d for d, run in near if true_name(runs[run]) == true_name(name)]
        if names and (not fitting or min(fitting) > 3.0):
            yield (f"seam name '{name}' is anchored {min(fitting, default=math.inf):.2f} mm from "
                   f"that seam")
    for spelled in names.values():
        if spelled not in told:
            yield f"the drafter's seam name '{spelled}' is not written back (found {sorted(told)})"


def check_balance(entry: dict[str, Any], model: Model, expectation: Expectation) -> Iterator[str]:
    """The block's entry in the report against lengths, angles and areas of the input."""
    block = expectation.drawing.block
    if set(entry) != REPORT_KEYS:
        yield f"report keys: {sorted(set(entry) ^ REPORT_KEYS)} missing or too many"
        return
    for seam in entry["seams"]:
        if abs(seam["before_mm"] - seam["after_mm"]) > 1e-6:
            yield f"seam {seam['name']}: {seam['before_mm']} -> {seam['after_mm']}"
    unequal = 4.0 if model.soft else 1e-4
    solid = [s for s in block.segments if s.run >= 0]
    true = sorted((sum(length(s.points) for s in solid if s.run == run), name)
                  for run, name in expectation.drawing.names.items())
    told = sorted((seam["before_mm"], seam["name"]) for seam in entry["seams"])
    if expectation.drawing.names:
        if [n for _, n in sorted(true, key=str)] != [n for _, n in sorted(told, key=str)] and (
                sorted(n for _, n in true) != sorted(n for _, n in told)):
            yield f"seams reported {[n for _, n in told]}, drawn {[n for _, n in true]}"
        else:
            for (mine, name), (theirs, other) in zip(
                    sorted(true, key=lambda p: (p[1], p[0])),
                    sorted(told, key=lambda p: (p[1], p[0])), strict=True):
                if abs(mine - theirs) > unequal:
                    yield f"seam {name}/{other} measures {theirs}, truly {mine}"
    whole = sum(length(s.points) for s in solid)
    if abs(sum(seam["before_mm"] for seam in entry["seams"]) - whole) > 2 * unequal:
        yield f"all seams: {sum(s['before_mm'] for s in entry['seams'])}, truly {whole}"
    before, after = block.mouth_ends
    angle = math.degrees(cmath.phase((after - block.apex) / (before - block.apex)) % math.tau)
    for key in ("angle_before_deg", "angle_after_deg"):
        if abs(entry[key] - angle) > 1e-8:
            yield f"{key} is {entry[key]}, truly {angle}"
    if abs(entry["angle_before_deg"] - entry["angle_after_deg"]) > 1e-9:
        yield "the sum of the openings' angles changed"
    net: list[Points] = []
    for p in model.pieces:
        if p.run >= 0:
            net.append(p.points)
        else:
            net.append(tuple(block.apex if abs(z - model.openings[p.dart].point) < 1e-12 else z
                             for z in p.points))
    truth = area(net)
    for key in ("area_before_mm2", "area_after_mm2"):
        if abs(entry[key] - truth) > 2e-6 * truth:
            yield f"{key} is {entry[key]}, truly {truth}"
    if abs(entry["area_before_mm2"] - entry["area_after_mm2"]) > 1e-6 * truth:
        yield "the net area changed"
    if not isinstance(entry["warnings"], list):
        yield "warnings is no list"
    sizes = []
    root = expectation.drawing.to_root
    moved = flatten([p.points for p in model.pieces], 200)
    drawn = flatten([s.points for s in block.segments], 200)
    for zs in (moved, drawn):
        for way in (zs, [root(z) for z in zs]):
            sizes.append((max(z.imag for z in way) - min(z.imag for z in way),
                          max(z.real for z in way) - min(z.real for z in way)))
    if not model.soft and not any(
            abs(entry["height_mm"] - h) < 0.3 and abs(entry["width_mm"] - w) < 0.3
            for h, w in sizes):
        yield f"height and width {entry['height_mm']}, {entry['width_mm']} fit none of {sizes}"



def check_move(in_text: str, out_text: str, report: dict[str, Any], block: Block,
               expectation: Expectation) -> list[str]:
    """Every violation of the contract in one moved block, as plain sentences."""
    found = list(check_input_kept(in_text, out_text))
    results = read_results(out_text, expectation.drawing)
    if len(results) != 1 or len(report.get("blocks", [])) != 1:
        return [*found, f"{len(results)} results, {len(report.get('blocks', []))} blocks reported"]
    result, entry = results[0], report["blocks"][0]
    found += check_parts(result, len(build_models(block, expectation)[0].openings))
    if not result.parts.get("stitch-line") or not result.parts.get("cut-line"):
        return found
    stitch = result.subpaths(result.parts["stitch-line"][0])[0][0]
    cut = result.subpaths(result.parts["cut-line"][0])[0][0]
    nodes = [p[0] for p in stitch]
    scored = []
    for number, rough in enumerate(build_models(block, expectation)):
        places, off = observed_places(rough, nodes, block, expectation)
        model = build_models(block, replace(expectation, places=places))[number]
        error, text = compare([p.points for p in model.pieces], stitch, model.soft)
        scored.append((error, off, number, model, text))
    error, off, _, model, text = min(scored, key=lambda one: one[:3])
    if off > expectation.place_tolerance:
        found.append(f"a cut lies {off:.5f} mm from its place")
    if error > EXACT:
        found.append(f"stitch line is no rigid turn of the input: {error:.3g} mm, {text}")
    model = with_softened(model, stitch)
    found += check_names(result, model, expectation)
    found += check_balance(entry, model, expectation)
    for name, place in (("apex", block.apex),):
        if abs(result.centre(result.parts[name][0]) - place) > 1e-6 if name in result.parts else 0:
            found.append(f"the {name} is not where it was drawn")
    # A dart into a fold edge takes the seam off the fold: it gets its ordinary allowance.
    opened = {o.runs[0] for o in model.openings if o.runs[0] == o.runs[1]}
    drawing = expectation.drawing
    expectation = replace(expectation, drawing=replace(drawing, folds=drawing.folds - opened))
    found += check_openings(result, entry, model, cut, expectation)
    found += check_page_marks(result, model, expectation)
    return found


def check_openings(result: Result, entry: dict[str, Any], model: Model, cut: list[Points],
                   expectation: Expectation) -> list[str]:
    """Each opening of the report against the drawing and the rules, then the cut line."""
    found: list[str] = []
    told = entry.get("openings", [])
    caps = [result.subpaths(e)[0][0] for e in result.parts.get("cap", []) if result.subpaths(e)]
    if len(told) != len(model.openings) or len(caps) != len(model.openings):
        return [f"{len(told)} openings reported, {len(caps)} caps drawn, {len(model.openings)} due"]
    root, block = expectation.drawing.to_root, expectation.drawing.block
    own_caps: dict[int, list[Points]] = {}
    legs: dict[int, int] = {}
    panes = [result.subpaths(e)[0][0] for e in result.parts.get("trim-window", [])]
    trimmed: list[tuple[Opening, list[Points]]] = []
    for number, opening in enumerate(model.openings):
        spot = root(opening.point)
        line = min(told, key=lambda o: abs(complex(*o["point_mm"]) - spot))
        if set(line) != OPENING_KEYS:
            found.append(f"opening keys: {sorted(set(line) ^ OPENING_KEYS)} missing or too many")
        if opening.target < 0 and len(told) > 1 and line is not told[-1] and (
                abs(complex(*told[-1]["point_mm"]) - spot) > 1e-6):
            found.append("what is left at the source is not the last opening reported")
        own = block.runs[opening.runs[0]], block.runs[opening.runs[1]]
        if expectation.drawing.names and not any(
                name in true_name(line["seam"]) or true_name(line["seam"]) == name
                for name in own):
            found.append(f"opening on {own} is reported on '{line['seam']}'")
        figures = {"angle_deg": math.degrees(opening.angle),
                   "intake_mm": abs(opening.ends[1] - opening.ends[0]),
                   "bend_deg": math.degrees(opening.at_point - opening.angle)}
        for key, true in figures.items():
            if abs(line[key] - true) > 1e-6:
                found.append(f"{key} on {own[0]} is {line[key]}, truly {true}")
        shut = line.get("folded") or {}
        if set(shut) != {"edge_step_mm", "excess_off_mm"} or not all(
                0.0 <= (value or 0.0) <= 0.05 for value in shut.values()):
            found.append(f"folded shut, the opening on {own[0]} measures {shut}")
        radius = abs(opening.ends[0] - block.apex)
        if abs(line["intake_mm"] - 2 * radius * math.sin(opening.angle / 2)) > 1e-6:
            found.append("the intake is no chord 2 r sin(angle / 2)")
        if abs(complex(*line["point_mm"]) - spot) > 1e-6:
            found.append(f"point_mm is {line['point_mm']}, truly {spot}")
        if opening.target >= 0:
            share = expectation.shares[opening.target]
            marked = expectation.drawing.targets
            given = marked[opening.target].share if marked else None
            if min(abs(line["share"] - s) for s in (share, given or share)) > 1e-6:
                found.append(f"share is {line['share']}, asked {share}")
        if not str(line["why"]).strip():
            found.append("no reason is given for the excess")
        cap = min(caps, key=lambda c: min(abs(c[0][0] - z) for z in opening.ends))
        own_caps[number] = cap
        word, leg = expected_fold(expectation, model, opening)
        trials = {n: list(check_cap(model, opening, n, cap)) for n in (0, 1)}
        if leg < 0:
            leg = 0 if not trials[0] else 1
        _, reaches = fold_chain(model, opening, leg)
        if word and line["fold"] != word:
            found.append(f"fold on {own[0]} is '{line['fold']}', by the rule '{word}'")
        if trials[leg] and not reaches:
            if not trials[1 - leg]:
                found.append(f"the cap on {own[0]} is shaped for the fold on the other side")
            else:
                found += trials[leg]
        legs[number] = leg
        wanted = expected_excess(expectation, model, opening, leg, cap)
        if wanted and line["excess"] != wanted:
            found.append(f"excess on {own[0]} (intake {figures['intake_mm']:.1f}, "
                         f"{expectation.cloth}) is '{line['excess']}', by the rule '{wanted}'")
        vertex = opening.point + opening.centre * expectation.trim_allowance / math.sin(
            opening.at_point / 2)
        mine = [w for w in panes if min(abs(p[0] - vertex) for p in w) < 1.0]
        if (line["excess"] == "trim") != bool(mine):
            found.append(f"excess on {own[0]} is '{line['excess']}' with {len(mine)} trim windows")
        for pane in mine[:1]:
            trimmed.append((opening, pane))
    capped = stitched(model, own_caps)
    if not Polygon(ring(capped, 60)).is_valid:
        return found  # a cap that crosses its own piece: the contract does not say what follows
    for opening, pane in trimmed:
        found += check_window(opening, pane, expectation.trim_allowance, capped, cut)
    paper = build_paper(model, legs, expectation, result)
    found += check_cut_line(paper, cut)
    for opening in model.openings:
        found += check_dart_marks(result, model, opening, paper, cut)
    return found


def check_page_marks(result: Result, model: Model, expectation: Expectation) -> Iterator[str]:
    """Test square of 50 mm, grainline along the centre seam or the page's vertical."""
    for element in result.parts.get("test-square", []):
        zs = result.nodes(element)
        low = complex(min(z.real for z in zs), min(z.imag for z in zs))
        root = [expectation.drawing.to_root(z) for z in zs]
        width = max(z.real for z in root) - min(z.real for z in root)
        height = max(z.imag for z in root) - min(z.imag for z in root)
        if abs(width - 50) > 1e-6 or abs(height - 50) > 1e-6:
            yield f"the test square measures {width:.6f} x {height:.6f} mm near {low:.1f}"
    block, names = expectation.drawing.block, expectation.drawing.names
    if not any(block.runs[run].startswith("centre") for run in names):
        return
    ways = [(p.points[-1] - p.points[0]) for p in model.pieces
            if p.run >= 0 and block.runs[p.run].startswith("centre")]
    for element in result.parts.get("grainline", []):
        spans = [p for pieces, _ in result.subpaths(element) for p in pieces] \
            if element.get("d") else [tuple(result.nodes(element))]
        longest = max(spans, key=lambda p: abs(p[-1] - p[0]))
        way = (longest[-1] - longest[0]) / abs(longest[-1] - longest[0])
        if min(abs((way / (grain / abs(grain))).imag) for grain in ways) > 1e-6:
            yield "the grainline does not run along the centre seam"
