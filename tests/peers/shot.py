"""Lets a chain of links go: the dense equations of the chain, and Lagrange's equations by differences of the energy.

Reads JSON: root, link, springs, free, masses (tip included), stiffness, natural, nock_mass, angles, nock_x. Writes speed, duration and place at which the
string no longer pushes, for both formulations, by SciPy's solve_ivp.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp

case = json.load(sys.stdin)
h = case["link"]
k = np.array(case["springs"])
free = np.array(case["free"])
m = np.array(case["masses"])
x0, y0, phi0 = case["root"]
U, natural, nock_mass = case["stiffness"], case["natural"], case["nock_mass"]
n = len(k)
mu = np.cumsum(m[::-1])[::-1]
mu_max = np.array([[mu[max(i, j)] for j in range(n)] for i in range(n)])


def string(theta, b):
    xt, yt = x0 + h * np.sum(np.sin(theta)), y0 + h * np.sum(np.cos(theta))
    length = np.hypot(b - xt, yt)
    return max(U * (length - natural) / natural, 0.0), (b - xt) / length, -yt / length


def dense(_, state):
    theta, b, rate, v = state[:n], state[n], state[n + 1 : 2 * n + 1], state[-1]
    bend = np.diff(np.concatenate([[phi0], theta])) - free
    tension, ux, uy = string(theta, b)
    apart = theta[:, None] - theta[None, :]
    torque = -k * bend + np.concatenate([(k * bend)[1:], [0.0]])
    right = -(mu_max * h * h * np.sin(apart)) @ rate**2 + torque + tension * h * (ux * np.cos(theta) - uy * np.sin(theta))
    acceleration = np.linalg.solve(mu_max * h * h * np.cos(apart), right)
    return np.concatenate([rate, [v], acceleration, [-tension * ux / nock_mass]])


def energies(q, rate):
    theta, b = q[:n], q[n]
    bend = np.diff(np.concatenate([[phi0], theta])) - free
    vx = np.cumsum(h * np.cos(theta) * rate[:n])
    vy = np.cumsum(-h * np.sin(theta) * rate[:n])
    kinetic = 0.5 * np.sum(m * (vx**2 + vy**2)) + 0.5 * nock_mass * rate[n] ** 2
    tension = string(theta, b)[0]
    return kinetic, 0.5 * np.sum(k * bend**2) + 0.5 * tension**2 / U * natural


def by_differences(_, state):
    """M q'' = dL/dq − (d²T/dq' dq) q', every derivative a difference; the kinetic energy is a square form in the rates."""
    q, rate = state[: n + 1], state[n + 1 :]
    size = n + 1
    unit = np.eye(size)
    speed = np.concatenate([np.ones(n), [1.0]])

    def momentum(q, rate):
        # T is of second degree in the rates: a difference with any step is exact.
        return np.array([(energies(q, rate + speed * e)[0] - energies(q, rate - speed * e)[0]) / 2.0 for e in unit])

    mass = np.array([momentum(q, e) for e in unit]).T
    step = 1e-5 * np.concatenate([np.ones(n), [natural]])
    slope = np.zeros(size)
    for i in range(size):
        d = step[i] * unit[i]
        more, less = energies(q + d, rate), energies(q - d, rate)
        slope[i] = ((more[0] - more[1]) - (less[0] - less[1])) / (2.0 * step[i])
    size_of_rate = np.max(np.abs(rate) / np.concatenate([np.ones(n), [natural]])) + 1e-300
    dt = 1e-5 / size_of_rate
    change = (momentum(q + dt * rate, rate) - momentum(q - dt * rate, rate)) / (2.0 * dt)
    return np.concatenate([rate, np.linalg.solve(mass, slope - change)])


def shoot(slopes, rtol):
    def pushes(_, state):
        tension, ux, _ = string(state[:n], state[n])
        return tension * ux if 0.0 < tension else ux - 1e-3

    pushes.terminal, pushes.direction = True, -1
    start = np.concatenate([case["angles"], [case["nock_x"]], np.zeros(n + 1)])
    found = solve_ivp(slopes, (0.0, case["at_most"]), start, method="DOP853", rtol=rtol, atol=rtol * 1e-3, events=pushes)
    end = found.y_events[0][0]
    return {"speed": abs(end[-1]), "duration": found.t_events[0][0], "leaves": end[n]}


json.dump({"dense": shoot(dense, 1e-10), "differences": shoot(by_differences, 1e-6)}, sys.stdout)
