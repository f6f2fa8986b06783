"""A new key: what stays good, what does not, and a run that was killed half-way."""

from __future__ import annotations

from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.certificates.keys import NAME, load_key, make_key
from grader.certificates.renewal import RETIRED, renew_key, retired_keys, signing_keys


def test_a_renewed_key_is_another_and_the_old_public_half_stays_trusted(tmp_path: Path) -> None:
    old = make_key(tmp_path, "open")
    new = renew_key(tmp_path, "open", "2031-05-14", "yearly", stolen=False)
    assert new.multikey != old.multikey
    assert load_key(tmp_path, "open") == new
    (retired,) = retired_keys(tmp_path)
    assert (retired.publicKeyMultibase, retired.trusted, retired.reason) == (old.multikey, True, "yearly")
    assert signing_keys(new, retired_keys(tmp_path)) == [new.multikey, old.multikey]
    assert all(old.secret.hex() not in file.read_text() for file in tmp_path.iterdir())


def test_a_stolen_key_is_trusted_no_more(tmp_path: Path) -> None:
    make_key(tmp_path)
    new = renew_key(tmp_path, "", "2031-05-14", "the shop was broken into", stolen=True)
    assert signing_keys(new, retired_keys(tmp_path)) == [new.multikey]


def test_several_renewals_stand_the_newest_first(tmp_path: Path) -> None:
    keys = [make_key(tmp_path)] + [renew_key(tmp_path, "", f"203{n}-01-01", "yearly", stolen=n == 2) for n in (1, 2, 3)]
    assert [one.publicKeyMultibase for one in retired_keys(tmp_path)] == [key.multikey for key in keys[2::-1]]
    assert signing_keys(keys[3], retired_keys(tmp_path)) == [keys[3].multikey, keys[2].multikey, keys[0].multikey]


@pytest.mark.parametrize("killed_after", ["the list", "the secret"])
def test_a_run_that_was_killed_goes_on_where_it_was(tmp_path: Path, killed_after: str, monkeypatch: pytest.MonkeyPatch) -> None:
    old = make_key(tmp_path)

    def killed(*_arguments: object, **_more: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        if killed_after == "the list":
            patch.setattr(Path, "unlink", killed)
        else:
            patch.setattr("grader.certificates.renewal.make_key", killed)
        with pytest.raises(KeyboardInterrupt):
            renew_key(tmp_path, "", "2031-05-14", "yearly", stolen=False)
    new = renew_key(tmp_path, "", "2031-05-14", "yearly", stolen=False)
    assert [one.publicKeyMultibase for one in retired_keys(tmp_path)] == [old.multikey]
    assert load_key(tmp_path) == new


def test_what_cannot_be_renewed_is_said_and_nothing_changes(tmp_path: Path) -> None:
    with pytest.raises(UseError, match="there is no key yet"):
        renew_key(tmp_path, "", "2031-05-14", "yearly", stolen=False)
    make_key(tmp_path, "open")
    before = (tmp_path / NAME).read_bytes()
    with pytest.raises(UseError, match="passphrase"):
        renew_key(tmp_path, "wrong", "2031-05-14", "yearly", stolen=False)
    assert (tmp_path / NAME).read_bytes() == before
    (tmp_path / RETIRED).write_text('[{"publicKeyMultibase": "zoo"}]')
    with pytest.raises(UseError, match="not a list of retired keys"):
        retired_keys(tmp_path)
