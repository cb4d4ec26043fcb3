# Every target makes its own .venv, and makes it anew when pyproject.toml or the set of packages changes.
PYTHON ?= python3
PY := .venv/bin/python
KEY := $(shell (cat pyproject.toml; ls -d core/*/ plugins/*/) | cksum | cut -d' ' -f1)
STAMP := .venv/ready-$(KEY)

.PHONY: venv demo test check lint types docs bench fuzz fault clean

venv: $(STAMP)

$(STAMP):
	@$(PYTHON) -c 'import sys; sys.exit("Witnessmark needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Try make PYTHON=python3.11" if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv --clear .venv
	$(PY) -m pip install --quiet --disable-pip-version-check --editable '.[dev,canbus]'
	@# An editable install of two folders is found by a hook at run time; type checkers want folders on the path.
	@$(PY) -c 'import pathlib, sysconfig; pathlib.Path(sysconfig.get_path("purelib"), "witnessmark-source.pth").write_text("$(CURDIR)/core\n$(CURDIR)/plugins\n")'
	@touch $@

demo: $(STAMP)
	@.venv/bin/witnessmark demo

test: $(STAMP)
	@# More workers than cores: a test with a truck waits most of its time.
	$(PY) -m pytest -n 3 --dist loadfile -m 'not campaign'

lint: $(STAMP)
	$(PY) -m ruff format --check .
	$(PY) -m ruff check .

types: $(STAMP)
	$(PY) -m mypy

docs: $(STAMP)
	$(PY) -m cogapp -r --check-fail-msg='run make docs' README.md DEVELOPERS.md docs/for-the-lead.md docs/iso-tp.md docs/procedure.md
	$(PY) -m tests.docs.picture

check: lint types test

bench: $(STAMP)
	$(PY) -m tests.bench $(PART)

fuzz: $(STAMP)
	$(PY) -m tests.fuzz
	$(PY) -m pytest -n 2 -m hypothesis --hypothesis-profile=search --timeout 0

fault: $(STAMP)
	$(PY) -m tests.fault

clean:
	rm -rf .venv build ./*.egg-info core/*.egg-info
