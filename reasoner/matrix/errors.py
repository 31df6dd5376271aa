"""Why a matrix cannot be worked out, in words for who asked for it."""

from __future__ import annotations

from ..errors import KnockonError


class MatrixRefused(KnockonError):
    """Something about the folder or what was asked for is wrong; nothing was computed."""


class MatrixStopped(KnockonError):
    """It ended before it was done. What was written stays, and a further run goes on from there."""
