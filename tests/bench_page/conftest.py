"""One bench for all tests that only ask it questions."""

from collections.abc import Iterator

import pytest

for name in ("starlette", "uvicorn", "jinja2", "python_multipart", "segno"):
    pytest.importorskip(name, reason="the bench page's packages are not installed: pip install 'aligncheck[bench]'")

from tests.bench_page.running import Running, running  # noqa: E402


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A bench on loopback with one worker."""
    with running(tmp_path_factory.mktemp("bench"), max_waiting_a_place=60) as one:
        yield one
