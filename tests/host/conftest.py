from __future__ import annotations

import pytest
from tests.host.clean_job import CleanJob, do_clean_job


@pytest.fixture(scope="session")
def clean_job(tmp_path_factory: pytest.TempPathFactory) -> CleanJob:
    return do_clean_job(tmp_path_factory.mktemp("clean"))
