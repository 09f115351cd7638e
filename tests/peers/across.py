"""Composite sections, trapped and crowned, by meshes of sectionproperties. One answer for each case: what its stack comes to.

Sides are straight and exact in a mesh; an arc becomes chords, and two counts of them are carried on to infinitely many (error with their square).
"""

import json
import sys

import numpy as np
from sectionproperties.analysis import Section
from sectionproperties.pre import CompoundGeometry, Geometry, Material
from shapely.geometry import Polygon, box


def outline(case, chords):
    """Seen from the tip, back up: y is minus the depth."""
    back, belly = case["faces"]
    depth, crown = case["depth"], case["crown"]
    edge = depth - crown
    points = [(-0.5 * back, 0.0), (-0.5 * belly, -edge)]
    if crown > 0.0:
        radius = (0.25 * belly**2 + crown**2) / (2.0 * crown)
        half = np.arctan2(0.5 * belly, radius - crown)
        angles = np.linspace(-half, half, chords + 1)[1:-1]
        points += [(radius * np.sin(a), -(edge + crown - radius) - radius * np.cos(a)) for a in angles]
    return Polygon(points + [(0.5 * belly, -edge), (0.5 * back, 0.0)])


def solved(case, chords, twist):
    whole = outline(case, chords)
    parts, z = [], 0.0
    for k, (thickness, modulus, share) in enumerate(case["layers"]):
        layer = whole.intersection(box(-500.0, -z - thickness, 500.0, -z))
        if share != 1.0:
            layer = Polygon([(share * x, y) for x, y in layer.exterior.coords])
        material = Material(str(k), modulus, 0.3, 1e9, 1.0, "grey")
        parts.append(Geometry(layer, material))
        z += thickness
    geometry = parts[0] if len(parts) == 1 else CompoundGeometry(parts)
    section = Section(geometry.create_mesh(mesh_sizes=[case.get("mesh", 1e9)]))
    section.calculate_geometric_properties()
    flat, sideways, _ = section.get_eic()
    _, centre = section.get_c()
    found = [flat, -centre, sideways, section.get_ea()]
    if twist:
        section.calculate_warping_properties()
        found.append(section.get_ej() / case["layers"][0][1])
    return np.array(found)


def answer(case):
    twist = "mesh" in case
    if case["crown"] <= 0.0 or twist:
        return solved(case, 100, twist).tolist()
    # 40 and 80 chords leave 1.4e-6 in the deepest of the test's crowns.
    coarse, fine = solved(case, 60, False), solved(case, 120, False)
    return (fine + (fine - coarse) / 3.0).tolist()


print(json.dumps([answer(case) for case in json.load(sys.stdin)]))
