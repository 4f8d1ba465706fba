"""Pictures lie under the hash of their bytes, whole or not at all."""

from __future__ import annotations

import hashlib
import os

import pytest

from firstpiece.errors import OutputError, StoreError
from firstpiece.store.pictures import PictureShelf


def test_what_is_put_is_got(tmp_path):
    shelf = PictureShelf(tmp_path / "p")
    key = shelf.put(b"abc")
    # FIPS 180-2, appendix B.1: the SHA-256 of "abc".
    assert key == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert shelf.put(b"abc") == key
    assert shelf.get(key) == b"abc"
    assert list(shelf) == [key]
    shelf.remove(key)
    shelf.remove(key)
    assert not shelf.has(key)


def test_a_picture_changed_or_missing_is_told(tmp_path):
    shelf = PictureShelf(tmp_path)
    key = shelf.put(b"abc")
    shelf.path(key).write_bytes(b"abd")
    with pytest.raises(StoreError, match="was changed"):
        shelf.get(key)
    with pytest.raises(StoreError, match="is missing"):
        shelf.get("0" * 64)


@pytest.mark.parametrize("key", ["", "../../etc/passwd", "a" * 63, "A" * 64, "0" * 64 + "\n"])
def test_what_is_no_hash_leads_nowhere(tmp_path, key):
    with pytest.raises(ValueError, match="is not a hash"):
        PictureShelf(tmp_path).path(key)


def test_a_fault_while_writing_leaves_nothing(tmp_path, monkeypatch):
    shelf = PictureShelf(tmp_path)

    def full(_handle):
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OutputError, match="no space left"):
        shelf.put(b"abc")
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_half_a_picture_is_written_again(tmp_path):
    shelf = PictureShelf(tmp_path)
    key = hashlib.sha256(b"abcdef").hexdigest()
    shelf.path(key).parent.mkdir()
    shelf.path(key).write_bytes(b"abc")
    assert shelf.put(b"abcdef") == key
    assert shelf.get(key) == b"abcdef"
