"""Programs are found on the path or where Debian keeps a database server's."""

from __future__ import annotations

from tools.system_packages import find_program


def put(folder, name):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text("#!/bin/sh\n")
    (folder / name).chmod(0o755)
    return str(folder / name)


def test_the_newest_server_aside_from_the_path_is_found(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    assert find_program("initdb", root=tmp_path) is None
    put(tmp_path / "usr/lib/postgresql/9/bin", "initdb")
    newest = put(tmp_path / "usr/lib/postgresql/15/bin", "initdb")
    assert find_program("initdb", root=tmp_path) == newest
    on_path = put(tmp_path / "bin", "initdb")
    assert find_program("initdb", root=tmp_path) == on_path
