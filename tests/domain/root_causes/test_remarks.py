"""Whatever the engine remarks, files and answers have a field for it: an export without one could not be imported."""

import ast
from inspect import getsource
from textwrap import dedent

import pytest

from service.domain.root_causes import before_failure, engine
from service.schemas.root_causes import RemarksSchema


@pytest.mark.parametrize("function", [engine._remarks, before_failure.not_done])
def test_each_remark_has_a_field(function) -> None:
    made = [each for each in ast.walk(ast.parse(dedent(getsource(function)))) if isinstance(each, ast.Dict)]
    codes = {key.value for each in made for key in each.keys if isinstance(key, ast.Constant)}

    assert codes
    assert codes <= set(RemarksSchema().fields)
