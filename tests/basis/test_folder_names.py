"""Tags as folder names and back."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.basis.folder_names import FolderNameError, folder_names, tag_of

REFUSED = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
DEVICES = {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))}

tags = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=15)
awkward = st.sampled_from(
    ["CON", "con.txt", "com1", ".", "..", " A", "A ", "a.", "A%41", "%41", "ﬀ", "ff", "É", "e\u0301"]
)


@given(st.lists(st.one_of(tags, awkward), min_size=1, max_size=8))
def test_every_tag_comes_back_from_its_folder_name(listed):
    names = folder_names(listed)
    assert {tag: tag_of(name) for tag, name in names.items()} == {tag: tag for tag in listed}


@given(st.lists(st.one_of(tags, awkward), min_size=1, max_size=8, unique=True))
def test_no_two_folders_are_the_same_where_letter_case_does_not_count(listed):
    names = [name.casefold() for name in folder_names(listed).values()]
    assert len(set(names)) == len(listed)


@given(st.one_of(tags, awkward))
def test_a_name_holds_nothing_that_a_file_system_refuses(tag):
    name = folder_names([tag])[tag]
    assert name.isascii()
    assert not REFUSED.search(name)
    assert name[0] not in " ."
    assert name[-1] not in " ."
    assert name.split(".")[0].rstrip().lower() not in DEVICES


@pytest.mark.parametrize("tag", ["FV-101", "40-TV 2031A", "LV_7+1"])
def test_an_ordinary_tag_is_its_own_folder_name(tag):
    assert folder_names([tag]) == {tag: tag}


def test_a_name_does_not_depend_on_the_order_of_the_register():
    assert folder_names(["Fv-1", "fv-1"]) == dict(reversed(folder_names(["fv-1", "Fv-1"]).items()))


def test_a_blank_tag_is_refused():
    with pytest.raises(FolderNameError, match="blank"):
        folder_names([""])


def test_a_tag_too_long_for_a_folder_is_refused_with_its_length():
    with pytest.raises(FolderNameError, match=r"201 characters.*Shorten"):
        folder_names(["A" * 201])
