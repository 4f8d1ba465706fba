# Two commands are all a reader needs: `make demo` and `make test`. Both set everything up first.
PYTHON ?= python3
BIN := .venv/bin
OUT ?= out

.PHONY: demo test test-quick check format bench open docs clean

demo: ## Set up, run the main job on the demo picture, print where the proof is.
	@$(PYTHON) tools/bootstrap.py run
	@$(BIN)/firstpiece demo --out $(OUT)

open: ## Set up and open the local page.
	@$(PYTHON) tools/bootstrap.py run
	@$(BIN)/firstpiece open

test: ## Set up, then run every test, the browser ones included.
	@$(PYTHON) tools/bootstrap.py dev
	@$(BIN)/python tools/system_packages.py chromium poppler-utils postgresql nodejs npm
	@$(BIN)/pytest -n 2 --dist loadfile

test-quick: ## The tests without a browser and without the slow ones.
	@$(PYTHON) tools/bootstrap.py dev
	@$(BIN)/pytest -m "not browser and not slow"

check: ## Format, lint, types, floors, generated docs.
	@$(PYTHON) tools/bootstrap.py dev
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports
	@$(BIN)/python tools/validation_table.py --check

format:
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix .

docs: ## Regenerate the parts of the documentation that are made from the code.
	@$(BIN)/python tools/validation_table.py

bench: ## Print the quality and speed tables (minutes).
	@$(PYTHON) tools/bootstrap.py dev
	@$(BIN)/python -m benchmarks.quality
	@$(BIN)/python -m benchmarks.tracing --every 3
	@$(BIN)/python -m benchmarks.order
	@$(BIN)/python -m benchmarks.letters
	@$(BIN)/python -m benchmarks.plan_growth
	@$(BIN)/python -m benchmarks.speed
	@$(BIN)/python -m benchmarks.forecast
	@$(BIN)/python -m benchmarks.convergence
	@$(BIN)/python -m benchmarks.papers
	@$(BIN)/python -m benchmarks.store --postgresql
	@$(BIN)/python -m benchmarks.day
	@$(BIN)/python -m benchmarks.page

clean:
	rm -rf .venv .tools $(OUT) benchmarks/results
