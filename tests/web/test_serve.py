"""Starting and closing the local page as ``firstpiece open`` does."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

from firstpiece.errors import BusyError
from firstpiece.web import listening

START = """
import sys, pathlib
from firstpiece.web.app import serve
if __name__ == "__main__":
    serve(port=int(sys.argv[1]), open_browser=False, home=pathlib.Path(sys.argv[2]))
"""


def test_the_page_does_not_wait_for_the_heavy_half():
    heavy = "numpy scipy numba shapely cv2 skimage PIL reportlab"
    code = (
        f"import sys, firstpiece.web.app; print([m for m in {heavy.split()} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_it_prints_its_link_answers_on_this_computer_only_and_closes_quietly(tmp_path):
    script = tmp_path / "start.py"
    script.write_text(START, "utf-8")
    running = subprocess.Popen(
        [sys.executable, str(script), "0", str(tmp_path / "home")],
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        line = running.stderr.readline()
        link = re.search(r"http://127\.0\.0\.1:\d+/enter\?key=\S{40,}", line)
        assert link, line
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        assert b"waits for its picture" in opener.open(link[0], timeout=30).read()
    finally:
        running.send_signal(signal.SIGINT)
        rest = running.communicate(timeout=30)[1]
    assert running.returncode == 0
    assert "Traceback" not in rest


def test_a_port_in_use_is_told_when_it_was_asked_for_and_passed_over_when_not():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BusyError, match=f"port {port} is in use"):
            listening.listen_here(port)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(listening, "PREFERRED_PORT", port)
            free = listening.listen_here(0)
        assert free.getsockname()[0] == "127.0.0.1"
        assert free.getsockname()[1] != port
        free.close()
