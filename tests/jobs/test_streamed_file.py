"""A large file appears whole or not at all."""

import pytest

from traveler.files import streamed


def test_it_takes_its_place_at_the_end(tmp_path):
    path = tmp_path / "new" / "r.csv"
    with streamed(path) as temporary:
        temporary.write_text("one")
        assert not path.exists()
    assert path.read_text() == "one"
    assert [item.name for item in path.parent.iterdir()] == ["r.csv"]
    assert path.stat().st_mode & 0o777 == 0o644


def test_what_was_there_stays_where_it_fails(tmp_path):
    path = tmp_path / "r.csv"
    path.write_text("old")

    def fail():
        with streamed(path) as temporary:
            temporary.write_text("half")
            raise OSError(28, "disk full")

    with pytest.raises(OSError, match="full"):
        fail()
    assert path.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["r.csv"]
