"""The question modules that are shipped, found in their package, and asked by number."""

from __future__ import annotations

import importlib
import pkgutil

from tests.audit.jobs import Job

from witnessmark.audit import questions
from witnessmark.audit.case import Integrity
from witnessmark.audit.question import collect
from witnessmark.audit.run import find
from witnessmark.audit.verdict import Finding

SHIPPED = [
    (module.name, importlib.import_module(f"{questions.__name__}.{module.name}"))
    for module in pkgutil.iter_modules(questions.__path__)
]
QUESTIONS = {question.number: question for question in collect(SHIPPED)}


def ask(number: int, job: Job, integrity: Integrity | None = None) -> Finding:
    """Return the finding of one shipped question on a job."""
    return find(QUESTIONS[number], job.case(integrity))
