"""Forward and backward sums of a small hidden chain, many seconds at a time.

The recursion is a product of small matrices, so it is taken in rows: all rows side by side
first, then the rows one after another (as the tow of a link is). L. R. Rabiner, A tutorial on
hidden Markov models, Proceedings of the IEEE 77 (1989), 257-286, gives the sums.
"""

from __future__ import annotations

import numpy as np

from unsown.core.words import Floats

#: After how many seconds a product is scaled back; the least a second holds is about e^-110.
_SCALE = 4


def forward(step: Floats, start: Floats) -> Floats:
    """Products start · step[0] · step[1] ··· each scaled to sum 1.

    Args:
        step: non-negative matrices, shape (n, k, k).
        start: shape (k,).

    Returns:
        The n partial products, shape (n, k).
    """
    n, k = step.shape[0], step.shape[1]
    if n == 0:
        return np.empty((0, k))
    width = max(1, int(np.sqrt(n)))
    rows = -(-n // width)
    full = np.broadcast_to(np.eye(k), (rows * width, k, k)).copy()
    full[:n] = step
    full = full.reshape(rows, width, k, k)
    part = np.empty_like(full)
    here = np.broadcast_to(np.eye(k), (rows, k, k))
    for j in range(width):
        here = here @ full[:, j]
        if j % _SCALE == 0:
            here = here / np.maximum(here.max(axis=(1, 2), keepdims=True), 1e-300)
        part[:, j] = here
    begin = np.empty((rows, k))
    now = start
    for i in range(rows):
        begin[i] = now
        now = now @ part[i, -1]
        now = now / max(float(now.sum()), 1e-300)
    out = np.einsum("ri,rwij->rwj", begin, part).reshape(rows * width, k)[:n]
    return np.asarray(out / np.maximum(out.sum(axis=1, keepdims=True), 1e-300))


def states(step: Floats, start: Floats) -> Floats:
    """Chance of every state at every second, shape (n, k): ``chances`` without the changes."""
    return _both(step, start)[0]


def chances(step: Floats, start: Floats) -> tuple[Floats, Floats]:
    """Chance of every state, and of every change between states, at every second.

    ``step[i]`` leads from second i − 1 (the start for i = 0) to second i, the evidence of
    second i multiplied in. Returns arrays of shape (n, k) and (n, k, k).
    """
    state, ahead, behind = _both(step, start)
    before = np.concatenate([start[None] / start.sum(), ahead[:-1]])
    change = before[:, :, None] * step * behind[:, None, :]
    total = change.sum(axis=(1, 2), keepdims=True)
    return state, np.asarray(change / np.maximum(total, 1e-300))


def _both(step: Floats, start: Floats) -> tuple[Floats, Floats, Floats]:
    """Chances of the states, and the forward and backward sums they come from."""
    ahead = forward(step, start)
    turned = np.swapaxes(step[:0:-1], 1, 2)
    behind = np.concatenate(
        [forward(turned, np.ones(step.shape[1]))[::-1], np.full((1, step.shape[1]), 1.0)]
    )
    state = ahead * behind
    return state / np.maximum(state.sum(axis=1, keepdims=True), 1e-300), ahead, behind


def best(log_step: Floats, log_start: Floats) -> list[int]:
    """The most probable path of states, one number a second.

    ``log_step`` has shape (n, k, k), logarithms of ``chances``' matrices (A. J. Viterbi, IEEE
    Transactions on Information Theory 13 (1967), 260-269).
    """
    n, k = log_step.shape[0], log_step.shape[1]
    if n == 0:
        return []
    width = max(1, int(np.sqrt(n)))
    rows = -(-n // width)
    unit = np.where(np.eye(k) > 0, 0.0, -1e12)
    full = np.broadcast_to(unit, (rows * width, k, k)).copy()
    full[:n] = log_step
    full = full.reshape(rows, width, k, k)
    part = np.empty_like(full)
    here = np.broadcast_to(unit, (rows, k, k))
    for j in range(width):
        here = (here[:, :, :, None] + full[:, j, None]).max(axis=2)
        part[:, j] = here
    begin = np.empty((rows, k))
    now = log_start
    for i in range(rows):
        begin[i] = now
        now = (now[:, None] + part[i, -1]).max(axis=0)
    reach = (begin[:, None, :, None] + part).max(axis=2).reshape(rows * width, k)[:n]
    before = np.concatenate([log_start[None], reach[:-1]])
    came = (before[:, :, None] + log_step).argmax(axis=1).tolist()
    state = int(reach[-1].argmax())
    path = [state]
    for i in range(n - 1, 0, -1):
        state = came[i][state]
        path.append(state)
    return path[::-1]
