"""Lets two different chains on one string go: the dense equations of both under SciPy's solve_ivp.

Reads JSON: sides (upper and lower, the lower in its mirror image), each with root, link, springs, free, masses (tip included), natural and angles;
stiffness, nock_mass, nock. Writes speed, duration and place at which the string no longer pushes.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp

case = json.load(sys.stdin)
U, nock_mass = case["stiffness"], case["nock_mass"]
sides = case["sides"]
n = [len(side["springs"]) for side in sides]
count = sum(n) + 2


def string(side, theta, nock):
    x0, y0, _ = side["root"]
    xt, yt = x0 + side["link"] * np.sum(np.sin(theta)), y0 + side["link"] * np.sum(np.cos(theta))
    length = np.hypot(nock[0] - xt, nock[1] - yt)
    return max(U * (length - side["natural"]) / side["natural"], 0.0), (nock[0] - xt) / length, (nock[1] - yt) / length


def turns(side, theta, rate, tension, ux, uy):
    h, k, free, m = side["link"], np.array(side["springs"]), np.array(side["free"]), np.array(side["masses"])
    mu = np.cumsum(m[::-1])[::-1]
    index = np.arange(len(k))
    mu_max = mu[np.maximum(index[:, None], index[None, :])]
    bend = np.diff(np.concatenate([[side["root"][2]], theta])) - free
    torque = -k * bend + np.concatenate([(k * bend)[1:], [0.0]])
    apart = theta[:, None] - theta[None, :]
    right = -(mu_max * h * h * np.sin(apart)) @ rate**2 + torque + tension * h * (ux * np.cos(theta) - uy * np.sin(theta))
    return np.linalg.solve(mu_max * h * h * np.cos(apart), right)


def pulls(places):
    x, y = places[-2:]
    parts = np.split(places[:-2], [n[0]])
    return [string(side, theta, (x, y if k == 0 else -y)) for k, (side, theta) in enumerate(zip(sides, parts))]


def slopes(_, state):
    places, rates = state[:count], state[count:]
    both = pulls(places)
    parts, spins = np.split(places[:-2], [n[0]]), np.split(rates[:-2], [n[0]])
    turned = [turns(*given, *pull) for *given, pull in zip(sides, parts, spins, both)]
    (tu, xu, yu), (tl, xl, yl) = both
    pushed = [-(tu * xu + tl * xl) / nock_mass, -(tu * yu - tl * yl) / nock_mass]
    return np.concatenate([rates, *turned, pushed])


def pushes(_, state):
    return sum(tension * ux for tension, ux, _ in pulls(state[:count]))


pushes.terminal, pushes.direction = True, -1
start = np.concatenate([*[side["angles"] for side in sides], case["nock"], np.zeros(count)])
found = solve_ivp(slopes, (0.0, 3.0), start, method="DOP853", rtol=1e-10, atol=1e-13, events=pushes)
end = found.y_events[0][0]
answer = {"speed": np.hypot(*end[-2:]), "aside": end[-1], "duration": found.t_events[0][0], "leaves": end[count - 2]}
json.dump(answer, sys.stdout)
