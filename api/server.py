"""Run the application on this machine."""

from __future__ import annotations

import uvicorn

from ..query.desk import Desk
from .app import create_app


def run(desk: Desk, host: str, port: int) -> None:
    """Serve until interrupted. The address is printed by the server once it listens."""
    uvicorn.run(create_app(desk), host=host, port=port, log_level="info")
