"""A limb under a string that may lie on it: least strain energy of a chain of stiff links whose taut string is no longer than it is.

Reads cases as JSON, writes JSON. No statics of ours: springs in joints, a string that takes the shortest way round the nodes on the
belly side, and SciPy's SLSQP. The tension is the multiplier of the string's length.
"""

import json
import sys

import numpy as np
from scipy.interpolate import interp1d
from scipy.optimize import minimize


def chain(case, n):
    length = case["length"]
    h = length / n
    joints = h * np.arange(n)
    fine = 4000
    s = (np.arange(fine * n) + 0.5) * h / fine
    stiffness = interp1d(*np.array(case["stiffness"]).T)(s)
    curvature = interp1d(*np.array(case["curvature"]).T)(s)
    # Each joint stands for the limb from half a link before it to half a link behind it.
    owner = np.minimum(np.floor(s / h + 0.5).astype(int), n)
    weight = h / fine
    compliance = np.bincount(owner, weight / stiffness, n + 1)[:n]
    free = np.bincount(owner, weight * curvature, n + 1)[:n]
    return h, joints, 1.0 / compliance, free


def nodes(theta, h):
    x = np.concatenate([[0.0], np.cumsum(h * np.sin(theta))])
    y = np.concatenate([[0.0], np.cumsum(h * np.cos(theta))])
    return np.stack([x, y], axis=1)


def taut(points, nocking):
    """Indices of the nodes that the string goes round, from the tip in; its last straight run goes to the nocking point."""
    way = [len(points) - 1]
    place = lambda i: nocking if i < 0 else points[i]
    for i in list(range(len(points) - 2, 0, -1)) + [-1]:
        while 1 < len(way):
            a, b, c = place(way[-2]), place(way[-1]), place(i)
            turn = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
            if turn < 0.0:
                break
            way.pop()
        way.append(i)
    return way


def solve(case, n, start):
    h, joints, k, free = chain(case, n)
    nocking = np.array([case["nock_x"], 0.0])

    # Unknowns in which the strain energy is half their square, however stiff an ear is.
    unit = np.sqrt(k)

    def angles(z):
        return np.cumsum(free + z / unit)

    def string(theta):
        points = nodes(theta, h)
        way = taut(points, nocking)
        place = [points[i] if 0 <= i else nocking for i in way]
        length = 0.0
        pull = np.zeros_like(points)
        for a in range(len(way) - 1):
            step = place[a + 1] - place[a]
            size = np.hypot(*step)
            length += size
            if 0 <= way[a]:
                pull[way[a]] -= step / size
            if 0 <= way[a + 1]:
                pull[way[a + 1]] += step / size
        beyond = np.cumsum(pull[::-1], axis=0)[::-1][1:]
        by_theta = h * (beyond[:, 0] * np.cos(theta) - beyond[:, 1] * np.sin(theta))
        return length, np.cumsum(by_theta[::-1])[::-1] / unit, way, place

    scale = 1e3
    found = minimize(
        lambda z: (0.5 * np.dot(z, z) / scale, z / scale),
        (np.diff(np.concatenate([[0.0], start])) - free) * unit,
        jac=True,
        method="SLSQP",
        constraints=[{"type": "eq", "fun": lambda z: string(angles(z))[0] - case["half"], "jac": lambda z: string(angles(z))[1]}],
        options={"maxiter": 2000, "ftol": 1e-15},
    )
    z = found.x
    theta = angles(z)
    length, by_z, way, place = string(theta)
    tension = -np.dot(z, by_z) / np.dot(by_z, by_z)
    left = np.max(np.abs(z + tension * by_z)) / np.max(np.abs(z))
    assert abs(length - case["half"]) < 1e-6 and left < 1e-4, (n, found.message, length - case["half"], left)
    run = place[-1] - place[-2]
    moment = unit * z
    lift = way[-2]
    return theta, {
        "tension": tension,
        "force": 2.0 * tension * run[0] / np.hypot(*run),
        "energy": 0.5 * np.dot(z, z),
        "lift_off": lift * h,
        "root_moment": moment[0],
        "beyond": float(np.max(np.abs(moment[lift + 1 :]), initial=0.0) / moment[0]),
    }


def main():
    answers = []
    for case in json.load(sys.stdin):
        rows, start = [], None
        for n in case["links"]:
            if start is None:
                _, _, _, free = chain(case, n)
                guess = np.cumsum(free) + case["guess"] * np.arange(n) / n
            else:
                guess = np.interp((np.arange(n) + 0.5) / n, (np.arange(len(start)) + 0.5) / len(start), start)
            start, row = solve(case, n, guess)
            rows.append(row)
        a, b = rows[-2], rows[-1]
        answers.append({key: b[key] + (b[key] - a[key]) / 3.0 for key in ("tension", "force", "energy", "root_moment")} | {
            "lift_off": b["lift_off"], "link": case["length"] / case["links"][-1], "beyond": b["beyond"], "coarse": a})
    json.dump(answers, sys.stdout)


main()
