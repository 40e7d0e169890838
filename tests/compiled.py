"""What is compiled once for all tests, as it is for the one application of a household.

SQLAlchemy keeps a compiled statement with its engine, Werkzeug the builder of an address with its
rule. Every test makes an engine and an application of its own, and would mostly compile again what
the test before it compiled.
"""

from collections.abc import Callable
from pathlib import Path

from sqlalchemy import Dialect, Engine, event
from werkzeug.routing import Rule

from app.ledger.engines import WAIT_MS, Where, make_engine, schema_of

Builder = Callable[..., tuple[str, str]]

_known: dict[str, tuple[Dialect, dict[object, object]]] = {}


def engine_that_remembers(where: Where, wait_ms: int = WAIT_MS) -> Engine:
    """What `make_engine` makes, with the statements that ledgers of its kind compiled before."""
    engine = make_engine(where, wait_ms)
    kind = "a file" if isinstance(where, Path) else schema_of(where)
    if kind in _known:
        engine.dialect, compiled = _known[kind]
        engine.update_execution_options(compiled_cache=compiled)
        return engine

    @event.listens_for(engine, "first_connect")  # when the dialect has seen what its database can
    def _remember(*_: object) -> None:
        _known.setdefault(kind, (engine.dialect, {}))

    return engine


_compile_builder = Rule._compile_builder
_builders: dict[object, Builder] = {}


def builder_remembered(rule: Rule, append_unknown: bool = True) -> Builder:
    """What builds the addresses of a rule; it depends on nothing but what the rule is made of."""
    made_of = (rule.rule, tuple(rule._trace), append_unknown)
    if rule.defaults:
        return _compile_builder(rule, append_unknown)
    if made_of not in _builders:
        _builders[made_of] = _compile_builder(rule, append_unknown)
    return _builders[made_of]
