"""From the command to the first page, and the memory it then holds."""

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def measure(settle_s: float = 25.0) -> dict[str, Any]:
    """Seconds to the first page of a room that is open already, and MB resident then and after the warm-up."""
    import psutil

    with tempfile.TemporaryDirectory() as folder:
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith(("LATHESIDE_", "DJANGO_"))
        } | {"LATHESIDE_DATA": folder, "LATHESIDE_OWNER_PASSWORD": "a quiet bench beside the mill"}
        manage = [sys.executable, str(ROOT / "manage.py")]
        words = ["--name", "Bench", "--zone", "UTC", "--units", "metric", "--owner-name", "Bench", "--sign-in", "bench"]
        subprocess.run([*manage, "open", *words, "--no-serve"], env=environment, check=True, capture_output=True)
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        began = time.perf_counter()
        server = subprocess.Popen(
            [*manage, "serve", "--listen", f"127.0.0.1:{port}"], env=environment, stdout=subprocess.DEVNULL
        )
        try:
            first = _first_page(f"http://127.0.0.1:{port}/people/sign-in/", began)
            process = psutil.Process(server.pid)
            at_once = process.memory_info().rss / 1e6
            time.sleep(settle_s)
            return {"first_page_s": first, "mb": at_once, "mb_warm": process.memory_info().rss / 1e6}
        finally:
            server.terminate()
            server.wait(30)


def _first_page(address: str, began: float, patience_s: float = 60.0) -> float:
    while time.perf_counter() - began < patience_s:
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                answer.read()
                return time.perf_counter() - began
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.02)
    raise TimeoutError(f"no page at {address} within {patience_s} s")
