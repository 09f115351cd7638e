"""Glue-up by minimising the energy of fibres: each layer is cut into thin fibres, and nothing but Hooke's law is used.

Reads JSON: {"cases": [{"layers": [[modulus, width, thickness, stage, free curvature], ...], "forms": [curvature per stage],
"retained": share}]}; a layer of stage s is loose until the form of stage s holds it. Prints per case the released curvature of
every stage and, at the end, the strains at both faces of each layer.
"""

import json
import sys

import numpy as np

FIBRES = 400


def relaxed(stiffness, depth, strain):
    """The stretch a and bend c that minimise sum of stiffness (strain + a - c depth)^2: nothing holds the piece any more."""
    root = np.sqrt(stiffness)
    matrix = np.column_stack([root, -root * depth])
    (a, c), *_ = np.linalg.lstsq(matrix, -root * strain, rcond=None)
    return a, c


def solve(case):
    depth, stiffness, owner = [], [], []
    faces, at = [], 0.0
    for index, (modulus, width, thickness, _, _) in enumerate(case["layers"]):
        middles = at + (np.arange(FIBRES) + 0.5) * thickness / FIBRES
        depth.append(middles)
        stiffness.append(np.full(FIBRES, modulus * width * thickness / FIBRES))
        owner.append(np.full(FIBRES, index))
        faces.append((at, at + thickness))
        at += thickness
    depth, stiffness, owner = map(np.concatenate, (depth, stiffness, owner))
    strain = np.zeros_like(depth)
    stage_of = np.array([layer[3] for layer in case["layers"]])[owner]
    # Pieces: each layer alone until it is glued. A piece has a curvature of its own.
    pieces = [{"fibres": owner == i, "curvature": layer[4], "stage": layer[3]} for i, layer in enumerate(case["layers"])]
    left = []
    glued = None
    for stage, form in enumerate(case["forms"], start=1):
        loose = [piece for piece in pieces if piece["stage"] == stage] + ([glued] if glued else [])
        for piece in loose:
            own = piece["fibres"]
            # Bent to the form, free to slip: the stretch that costs least energy.
            bend = form - piece["curvature"]
            trial = strain[own] - bend * depth[own]
            stretch = -np.sum(stiffness[own] * trial) / np.sum(stiffness[own])
            strain[own] = trial + stretch
        together = np.any([piece["fibres"] for piece in loose], axis=0)
        a, c = relaxed(stiffness[together], depth[together], strain[together])
        strain[together] += a - c * depth[together]
        glued = {"fibres": together, "curvature": case["retained"] * (form + c), "stage": stage}
        left.append(form + c)
    ends = []
    for index, (back, belly) in enumerate(faces):
        own = owner == index
        slope, offset = np.polyfit(depth[own], strain[own], 1)
        ends.append([offset + slope * back, offset + slope * belly])
    assert np.all(stage_of <= len(case["forms"]))
    return {"left": left, "strain": ends}


cases = json.load(sys.stdin)["cases"]
print(json.dumps([solve(case) for case in cases]))
