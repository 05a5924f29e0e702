"""Plain text to records, and what the records refuse told in plain words."""

import re
from collections.abc import Iterable, Iterator, Mapping
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from soapstone.job.faults import KeyPath, nearest, quote, remedy, stands
from soapstone.job.schema import Job

_CHOICE = re.compile(r"'([^']*)'")
_NAME_RULE = "is no name; a name has letters, digits, _ and -, and begins with a letter or a digit"


def to_job(data: Mapping[str, Any]) -> tuple[Job | None, list[tuple[KeyPath, str]]]:
    """The job, or None and every fault: key path and what is wrong there."""
    try:
        return Job.model_validate(data, by_alias=True, by_name=False), []
    except ValidationError as error:
        return None, _told(dict(one) for one in error.errors(include_url=False))


def _told(errors: Iterable[dict[str, Any]]) -> list[tuple[KeyPath, str]]:
    """All faults; a key that is missing because it is spelled wrong is told once, as spelled wrong."""
    told = {_plain(error): error for error in errors}
    wrong = {
        (*path[:-1], nearest(str(path[-1]), keys_at(path[:-1])))
        for (path, _), error in told.items()
        if error["type"] == "extra_forbidden"
    }
    return [
        one for one, error in told.items() if error["type"] != "missing" or _clean(error["loc"]) not in wrong
    ]


def _plain(error: dict[str, Any]) -> tuple[KeyPath, str]:
    path = _clean(error["loc"])
    if error["type"] == "missing":
        return path[:-1], f"{path[-1]} is missing"
    return path, _words(error["type"], path, error["input"], error.get("ctx", {}))


def _clean(location: tuple[str | int, ...]) -> KeyPath:
    """Without the marks that stand for no key: `<case>`, `[key]`."""
    path = tuple(key for key in location if key not in ("<text>", "<case>"))
    return path[:-1] if path[-1:] == ("[key]",) else path


def _words(kind: str, path: KeyPath, given: Any, context: Mapping[str, Any]) -> str:
    """Plain words for one kind of refusal."""
    match kind:
        case "value_error":
            return str(context["error"])
        case "extra_forbidden":
            return f"{quote(path[-1])} is no key here; {remedy(str(path[-1]), keys_at(path[:-1]))}"
        case "literal_error":
            choices = _CHOICE.findall(context["expected"])
            return f"{quote(given)} is no choice here; {_choose(given, choices)}"
        case "string_pattern_mismatch":
            return f"{quote(given)} {_NAME_RULE}"
        case "string_type":
            return f"a text belongs here, {stands(given)}"
        case "tuple_type":
            return f"a list belongs here, {stands(given)}"
        case "too_short":
            return f"{path[-1]} is empty; at least one belongs here"
    keys = list(keys_at(path))
    known = f" ({', '.join(keys)})" if keys else ""
    return f"keys belong here{known}, {stands(given)}"


def _choose(given: Any, choices: list[str]) -> str:
    if len(choices) == 1:
        return f"write {choices[0]}"
    return remedy(given, choices) if isinstance(given, str) else f"there are: {', '.join(choices)}"


def keys_at(path: KeyPath) -> list[str]:
    """Keys that the record at a key path takes, as written in the file; none where names are free."""
    kinds: list[Any] = [Job]
    for key in path:
        kinds = [inner for kind in kinds for inner in _inner(kind, key)]
    records = [kind for kind in kinds if _is_record(kind)]
    hidden = ("folder", "note") if not path else ("note",)
    return [
        field.alias or name
        for record in records
        for name, field in record.model_fields.items()
        if name not in hidden
    ]


def _is_record(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _inner(kind: Any, key: str | int) -> Iterator[Any]:
    """The kinds that may stand under a key of a kind."""
    if _is_record(kind):
        for name, field in kind.model_fields.items():
            if key in (name, field.alias):
                yield from _bare(field.annotation)
    elif get_origin(kind) in (dict, tuple):
        yield from _bare(get_args(kind)[get_origin(kind) is dict])


def _bare(kind: Any) -> Iterator[Any]:
    """A kind without its wrapping; each of them for a choice of several."""
    if get_origin(kind) is Annotated:
        yield from _bare(get_args(kind)[0])
    elif get_origin(kind) in (Union, UnionType):
        for choice in get_args(kind):
            yield from _bare(choice)
    else:
        yield kind
