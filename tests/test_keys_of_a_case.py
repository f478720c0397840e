"""Every key of a case has its help and its group, and no help is of a key that is none."""

from thread_repair import case, files


def test_keys_and_their_help_are_the_same_list():
    told = [name for helps in files.data("keys.toml").values() for name in helps]
    assert sorted(told) == sorted(case.keys())
    assert len(told) == len(set(told))
