"""The strain of every layer of a bow glued on forms, at places seen from either side, by Gauss points and Hooke's law alone.

Reads JSON: {"forms": [[[station, rise], ...] per stage], "retained": share, "places": [{"s", "inside", "layers": [[modulus, width,
thickness, stage, own curvature], ...], "moments": [N mm, ...]}]}. Stage 0 is wet glue between pieces: it sets without strain on the form of
the stage given as its own curvature. A form is the natural spline that starts level where its level part ends; stations run along it.
Prints per place, per moment, the strain at both faces of each layer.
"""

import json
import sys

import numpy as np
from scipy.interpolate import CubicSpline

GAUSS = np.polynomial.legendre.leggauss(4)


def form(points):
    points = [(s, rise - points[0][1]) for s, rise in points]
    first_risen = next(k for k, (_, rise) in enumerate(points) if rise != 0.0)
    bent = points[first_risen - 1 :]
    stations, rises = zip(*bent)
    spline = CubicSpline(stations, rises, bc_type=((1, 0.0), (2, 0.0)))

    def curvature(inside):
        def at(s):
            if inside <= stations[0] or stations[-1] <= inside:
                return 0.0
            return float(spline(s, 2) / np.sqrt(1.0 - spline(s, 1) ** 2))

        return at

    return curvature


def relaxed(ea, z, strain):
    """Stretch and bend after which neither force nor moment is left."""
    matrix = np.array([[ea.sum(), -(ea * z).sum()], [(ea * z).sum(), -(ea * z * z).sum()]])
    return np.linalg.solve(matrix, -np.array([(ea * strain).sum(), (ea * z * strain).sum()]))


def solve(place, forms, retained):
    s, inside = place["s"], place["inside"]
    bends = [curvature(inside)(s) for curvature in forms]
    ea, z, owner, faces, at = [], [], [], [], 0.0
    for index, (modulus, width, thickness, _, _) in enumerate(place["layers"]):
        nodes, weights = GAUSS
        z.append(at + 0.5 * thickness * (nodes + 1.0))
        ea.append(modulus * width * 0.5 * thickness * weights)
        owner.append(np.full(len(nodes), index))
        faces.append((at, at + thickness))
        at += thickness
    ea, z, owner = map(np.concatenate, (ea, z, owner))
    strain = np.zeros_like(z)
    stages = [layer[3] if layer[3] else int(layer[4]) for layer in place["layers"]]
    glued = None
    for stage, bend in enumerate(bends, start=1):
        pieces = [] if glued is None else [glued]
        for index, layer in enumerate(place["layers"]):
            if stages[index] == stage:
                own = bend if layer[3] == 0 else layer[4]
                pieces.append((owner == index, own))
        for points, own in pieces:
            trial = strain[points] - (bend - own) * z[points]
            strain[points] = trial - (ea[points] * trial).sum() / ea[points].sum()
        together = np.any([points for points, _ in pieces], axis=0)
        stretch, curve = relaxed(ea[together], z[together], strain[together])
        strain[together] += stretch - curve * z[together]
        glued = (together, retained * (bend + curve))
    axis = (ea * z).sum() / ea.sum()
    stiffness = (ea * (z - axis) ** 2).sum()
    answer = []
    for moment in place["moments"]:
        bent = strain - moment / stiffness * (z - axis)
        rows = []
        for index, (back, belly) in enumerate(faces):
            slope, offset = np.polyfit(z[owner == index], bent[owner == index], 1)
            rows.append([offset + slope * back, offset + slope * belly])
        answer.append(rows)
    return answer


asked = json.load(sys.stdin)
curves = [form(points) for points in asked["forms"]]
print(json.dumps([solve(place, curves, asked["retained"]) for place in asked["places"]]))
