"""JSON merge patch against the cases of the RFC that defines it."""

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.formats.merge_patch import MOST_LEVELS, TooDeep, merged

# RFC 7396 (October 2014), appendix A "Example Test Cases": original, patch, result.
APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from("abc"), inner, max_size=3),
    max_leaves=12,
)


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_the_cases_of_the_rfc_come_out_as_it_says(original, patch, result):
    assert merged(json.loads(original), json.loads(patch)) == json.loads(result)


@given(JSON, JSON)
def test_a_patch_applied_twice_says_no_more_than_once(target, patch):
    once = merged(target, patch)
    assert merged(once, patch) == once


@given(JSON, JSON)
def test_neither_what_was_there_nor_the_patch_is_changed(target, patch):
    before = copy.deepcopy((target, patch))
    merged(target, patch)
    assert (target, patch) == before


@given(JSON)
def test_an_empty_patch_leaves_an_object_as_it_was(target):
    assert merged(target, {}) == (target if isinstance(target, dict) else {})


def test_a_patch_of_bottomless_depth_is_refused_in_words():
    bottomless: dict = {}
    for _ in range(MOST_LEVELS + 1):
        bottomless = {"a": bottomless}
    with pytest.raises(TooDeep, match=f"{MOST_LEVELS} levels"):
        merged({}, bottomless)
