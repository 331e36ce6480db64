"""The server's key is made once, on the first start, and never again in the place of one that was lost."""

from __future__ import annotations

import pytest

from server.config import in_folder
from server.core.errors import InvalidInput
from server.flows import authority
from tests.support.served_unit import served_unit


def test_the_first_start_makes_a_key_and_the_next_one_reads_it(tmp_path):
    first = authority.load(in_folder(tmp_path))
    assert authority.load(in_folder(tmp_path)).jwk == first.jwk


def test_a_key_that_is_gone_while_its_database_is_there_is_asked_for_and_not_replaced(tmp_path):
    with served_unit(tmp_path) as served:
        path = served.config.server_key_path
        path.unlink()
        with pytest.raises(InvalidInput) as refused:
            authority.load(served.config)
    assert str(path) in str(refused.value)
    assert "backup" in str(refused.value)
    assert not path.exists()
