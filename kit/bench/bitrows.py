"""Rows of bits in a picture, each in its cell, the wrong ones hatched."""

import numpy as np

from .scene import Pane, Stretch, Words

__all__ = ["bit_row", "differing"]

EDGE = 0.012  # part of the picture nearer to whose side a figure would be cut


def differing(written, read):
    """Where bits that were read are not those written.

    Parameters
    ----------
    written : ndarray of uint8, shape (bits,)
    read : ndarray of uint8, shape (any,)

    Returns
    -------
    ndarray of bool, shape (bits,)
        True as well where nothing was read.

    Examples
    --------
    >>> differing(np.array([0, 1, 1]), np.array([0, 0])).tolist()
    [False, True, True]
    """
    wrong = np.ones(len(written), bool)
    count = min(len(written), len(read))
    wrong[:count] = read[:count] != written[:count]
    return wrong


def bit_row(label, bits, borders, x_span, x_label, *, wrong=(), title="", share=0.25):
    """A row of bits as a pane.

    Parameters
    ----------
    label : str
        At its left.
    bits : ndarray of int, shape (bits,)
    borders : ndarray of float64, shape (bits + 1,)
        Where each cell begins, and the last one ends, in the measure of x.
    x_span, x_label
        Of the pane.
    wrong : array_like of bool, shape (any,)
        Which of them are hatched.
    title, share
        Of the pane.

    Returns
    -------
    Pane
    """
    if not len(bits):
        return Pane(x_span, (0, 1), x_label, label, (), title=title, share=share, bare=True)
    room = EDGE * (x_span[1] - x_span[0])
    middles = (borders[:-1] + borders[1:]) / 2
    seen = (middles > x_span[0] + room) & (middles < x_span[1] - room)
    hatched = [k for k, bad in enumerate(wrong[: len(bits)]) if bad and seen[k]]
    items = [Stretch(*sorted(map(float, borders[k : k + 2]))) for k in hatched]
    items.append(Words(middles[seen], tuple(str(bit) for bit in bits[seen])))
    return Pane(x_span, (0, 1), x_label, label, tuple(items), title=title, share=share, bare=True)
