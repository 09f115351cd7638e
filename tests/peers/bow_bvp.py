"""Solves a whole bow at brace and at full draw as a boundary-value problem with scipy, from the build's plain description.

Sections, neutral axis and fades are computed here again. The limb is integrated in the bow's own frame, x(s), y(s), theta(s) from the
centre to the nock with unknown tension and string angle, by collocation: another frame, another method, another direction.
Reads JSON on stdin, writes JSON to stdout.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_bvp

build = json.load(sys.stdin)
L = build["nock"]


def table(points):
    s, y = np.array(points, float).T
    return lambda x: np.interp(x, s, y)


width = table(build["width"])
kappa0 = table(build["curvature"])
layers = [dict(layer, t=table(layer["thickness"])) for layer in build["laminations"]]
riser = build.get("riser")
glue = build["glue"]


def riser_thickness(s):
    """Arc tangent to the limb at the feather, full depth on the level part."""
    feather, level, depth, edge = (riser[k] for k in ("feather_station", "level_end", "depth", "feather"))
    run, rise = feather - level, depth - edge
    radius = (run * run + rise * rise) / (2 * rise)
    d = np.clip(feather - s, 0.0, run)
    return edge + radius - np.sqrt(radius * radius - d * d)


def section(s, inside):
    """EI and depth of the neutral axis at s, with the layers present at `inside`."""
    stack = []
    for index, layer in enumerate(layers):
        if riser and riser["position"] == index and inside < riser["feather_station"]:
            stack.append((riser_thickness(s), riser["modulus"], 1.0))
        if layer["from"] <= inside <= layer["to"]:
            stack.append((layer["t"](s), layer["modulus"], layer["share"]))
    b = width(s)
    plies = []
    for index, (t, e, share) in enumerate(stack):
        if index:
            plies.append((np.full_like(s, glue["line"]), glue["modulus"], min(share, stack[index - 1][2])))
        plies.append((t, e, share))
    top = np.zeros_like(s)
    axial = np.zeros_like(s)
    first = np.zeros_like(s)
    middle = []
    for t, e, share in plies:
        z = top + t / 2
        middle.append(z)
        axial += e * share * b * t
        first += e * share * b * t * z
        top = top + t
    zbar = first / axial
    stiffness = sum(e * share * b * (t**3 / 12 + t * (z - zbar) ** 2) for (t, e, share), z in zip(plies, middle))
    return stiffness, zbar, top


corners = {0.0, L}
for points in [build["width"], build["curvature"]] + [layer["thickness"] for layer in build["laminations"]]:
    corners.update(p[0] for p in points)
for layer in layers:
    corners.update((layer["from"], layer["to"]))
if riser:
    corners.update((riser["level_end"], riser["feather_station"]))
ends = [s for s in sorted(corners) if 0.0 <= s <= L]
ends = [s for i, s in enumerate(ends) if i == 0 or s - ends[i - 1] > 1e-6]
spans = list(zip(ends[:-1], ends[1:]))
inside = [(a + b) / 2 for a, b in spans]
n = len(spans)


def zbar_slope(i, s):
    a, b = spans[i]
    d = 1e-4 * (b - a)
    low, high = np.maximum(s - d, a), np.minimum(s + d, b)
    return (section(high, inside[i])[1] - section(low, inside[i])[1]) / (high - low)


def rhs_for(moment):
    def rhs(tau, v, p):
        out = np.empty_like(v)
        for i, (a, b) in enumerate(spans):
            s = a + tau * (b - a)
            x, y, theta = v[3 * i : 3 * i + 3]
            stiffness, _, _ = section(s, inside[i])
            slope = zbar_slope(i, s)
            sin, cos = np.sin(theta), np.cos(theta)
            out[3 * i] = (b - a) * (sin + slope * cos)
            out[3 * i + 1] = (b - a) * (cos - slope * sin)
            out[3 * i + 2] = (b - a) * (kappa0(s) + moment(x, y, p) / stiffness)
        return out

    return rhs


def joints(va, vb):
    left = []
    for i in range(n - 1):
        s = np.array([spans[i][1]])
        jump = (section(s, inside[i + 1])[1] - section(s, inside[i])[1])[0]
        x, y, theta = vb[3 * i : 3 * i + 3]
        x1, y1, theta1 = va[3 * i + 3 : 3 * i + 6]
        left += [x1 - x - jump * np.cos(theta), y1 - y + jump * np.sin(theta), theta1 - theta]
    return left


centre = np.array([0.0])
root_x = section(centre, inside[0])[1][0]
grip = section(centre, inside[0])[2][0]
string_x = grip + build["brace_height"]
d = grip + build["full_draw"]
scale = section(np.array([L / 2]), L / 2)[0][0] * (np.pi / (2 * L)) ** 2


def solved(fun, bc, tau, v, p, tol=1e-7):
    got = solve_bvp(fun, bc, tau, v, p=p, tol=tol, max_nodes=3000)
    if got.status != 0:
        sys.exit(f"solve_bvp: {got.message}")
    return got


tau = np.linspace(0, 1, 9)
guess = np.empty((3 * n, tau.size))
bend = np.pi / 2 * (string_x - root_x) / L
for i, (a, b) in enumerate(spans):
    s = a + tau * (b - a)
    guess[3 * i] = root_x + (string_x - root_x) * (1 - np.cos(np.pi * s / (2 * L)))
    guess[3 * i + 1] = s
    guess[3 * i + 2] = bend * np.sin(np.pi * s / (2 * L))


def brace_ends(va, vb, p):
    return np.array([va[0] - root_x, va[1], va[2], vb[-3] - string_x] + joints(va, vb))


brace = solved(rhs_for(lambda x, y, p: scale * p[0] * (string_x - x)), brace_ends, tau, guess, [1.2])
half = brace.y[-2, -1]
answer = {"half_string": half, "brace_tension": scale * brace.p[0]}

state, p = brace, np.array([brace.p[0], 0.0])
for target in np.linspace(string_x, d, 7)[1:]:

    def tip(p, target=target):
        return target - half * np.sin(p[1]), half * np.cos(p[1])

    def moment(x, y, p):
        tx, ty = tip(p)
        return scale * p[0] * (np.sin(p[1]) * (ty - y) + np.cos(p[1]) * (tx - x))

    def ends_of(va, vb, p):
        tx, ty = tip(p)
        return np.array([va[0] - root_x, va[1], va[2], vb[-3] - tx, vb[-2] - ty] + joints(va, vb))

    # On the way a rough solution will do; the last is brought to the tolerance.
    state = solved(rhs_for(moment), ends_of, state.x, state.y, p, tol=1e-7 if target == d else 1e-3)
    p = state.p
answer.update(force=2 * scale * p[0] * np.sin(p[1]), tension=scale * p[0], string_angle=p[1])
answer.update(tip_x=state.y[-3, -1], tip_y=state.y[-2, -1], grip=grip)
json.dump(answer, sys.stdout)
