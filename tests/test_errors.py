"""Errors: one sentence each, whole after crossing to another process."""

from __future__ import annotations

import pickle

import pytest

from firstpiece.errors import FirstpieceError, OutputError, PictureError


def test_the_sentence_says_where_what_and_what_to_do():
    fault = PictureError("the picture is empty", where="logo.png", remedy="send another")
    assert str(fault) == "logo.png: the picture is empty; send another."
    assert str(FirstpieceError("it is late")) == "it is late."


@pytest.mark.parametrize("kind", [FirstpieceError, PictureError, OutputError])
def test_an_error_crosses_a_process_border_whole(kind):
    fault = kind("what", where="where", remedy="remedy")
    back = pickle.loads(pickle.dumps(fault))
    assert type(back) is kind
    assert (back.what, back.where, back.remedy) == ("what", "where", "remedy")
