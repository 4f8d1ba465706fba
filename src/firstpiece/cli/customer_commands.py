"""``firstpiece customer``: the people who order, and their right to their data."""

from __future__ import annotations

from gettext import gettext as _
from pathlib import Path
from typing import Any

import click

from firstpiece.cli.answers import json_option, open_console, print_json
from firstpiece.cli.record_options import seen_option
from firstpiece.cli.root import LazyGroup

_HERE = "firstpiece.cli.customer_commands"

COMMANDS: dict[str, tuple[str, str]] = {
    "new": (f"{_HERE}:new", "Open a customer."),
    "show": (f"{_HERE}:show", "Show a customer and their jobs."),
    "list": (f"{_HERE}:list_", "List customers by name."),
    "change": (f"{_HERE}:change", "Change what is kept about a customer."),
    "export": (f"{_HERE}:export", "Write everything kept about a customer into one file."),
    "erase": (f"{_HERE}:erase", "Erase a customer for good; the orders' figures stay."),
}

CONSENT = "What they agreed to, between commas: records, photos, substitutes."


@click.group(
    "customer",
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Keep the shop's customers; export or erase one.",
    context_settings={"max_content_width": 100},
)
def customer() -> None:
    """Keep the shop's customers."""


customer_argument = click.argument("customer", type=click.IntRange(1))


@click.command("new", short_help=COMMANDS["new"][1])
@click.argument("name")
@click.option("--writes-by", default="", metavar="TEXT", help="How they write, and where.")
@click.option("--notes", default="", metavar="TEXT", help="What to know about them.")
@click.option("--consent", default="", metavar="WORDS", help=CONSENT)
@json_option
def new(*, name: str, writes_by: str, notes: str, consent: str, as_json: bool) -> None:
    """Open a customer under a NAME."""
    from firstpiece.cli.record_text import answer_customer
    from firstpiece.model.customer import Customer, read_consent
    from firstpiece.shop.customers import open_customer

    wanted = Customer(0, name, writes_by, notes, read_consent(consent))
    answer_customer(open_customer(wanted), as_json=as_json)


@click.command("show", short_help=COMMANDS["show"][1])
@customer_argument
@json_option
def show(*, customer: int, as_json: bool) -> None:
    """Show CUSTOMER and their jobs."""
    from firstpiece.shop.customers import read_customer
    from firstpiece.shop.job_book import list_jobs
    from firstpiece.store.jobs import JobFilter

    found, jobs = read_customer(customer), list_jobs(JobFilter(customer=customer)).jobs
    if as_json:
        from firstpiece.shop.record_objects import customer_object, summary_object

        content = {**customer_object(found), "jobs": [summary_object(j) for j in jobs]}
        print_json("customer", content)
        return
    from firstpiece.cli.record_text import answer_customer, print_jobs

    answer_customer(found, as_json=False)
    if jobs:
        print_jobs(jobs)


@click.command("list", short_help=COMMANDS["list"][1])
@click.option("--limit", type=click.IntRange(1, 1000), default=50, show_default=True, metavar="N",
              help="At most this many.")  # fmt: skip
@json_option
def list_(*, limit: int, as_json: bool) -> None:
    """List customers by name."""
    from firstpiece.shop.customers import list_customers

    found = list_customers(limit=limit)
    if as_json:
        from firstpiece.shop.record_objects import customer_object

        print_json("customers", {"customers": [customer_object(c) for c in found]})
        return
    from firstpiece.cli.record_text import print_customers

    if found:
        print_customers(found)
    else:
        open_console().print(_("No customers."), markup=False)


@click.command("change", short_help=COMMANDS["change"][1])
@customer_argument
@click.option("--name", metavar="TEXT", help="New name.")
@click.option("--writes-by", metavar="TEXT", help="How they write, and where.")
@click.option("--notes", metavar="TEXT", help="What to know about them.")
@click.option("--consent", metavar="WORDS", help=CONSENT)
@seen_option
@json_option
def change(*, customer: int, seen: int | None, as_json: bool, **fields: Any) -> None:
    """Change what is kept about CUSTOMER; what is not named stays."""
    from firstpiece.cli.record_text import answer_customer
    from firstpiece.model.customer import read_consent
    from firstpiece.shop.customers import change_customer

    changes = {name: value for name, value in fields.items() if value is not None}
    if "consent" in changes:
        changes["consent"] = read_consent(changes["consent"])
    answer_customer(change_customer(customer, changes, expected=seen), as_json=as_json)


@click.command("export", short_help=COMMANDS["export"][1])
@customer_argument
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="FILE",
              help="ZIP file to write.")  # fmt: skip
@json_option
def export(*, customer: int, out: Path, as_json: bool) -> None:
    """Write everything kept about CUSTOMER into one ZIP file of JSON and pictures."""
    from firstpiece.shop.customers import write_customer

    path = write_customer(customer, out)
    if as_json:
        print_json("customer data", {"file": str(path)})
    else:
        open_console().print(str(path), markup=False)


@click.command("erase", short_help=COMMANDS["erase"][1])
@customer_argument
@click.option("--yes", is_flag=True, help="Do not ask.")
@seen_option
@json_option
def erase(*, customer: int, yes: bool, seen: int | None, as_json: bool) -> None:
    """Erase CUSTOMER for good: name, words, pictures. Counts, prices and plans stay.

    Backups made before still hold the person; restoring one erases them again. Delete old backups
    when the law asks for it.
    """
    from firstpiece.shop.customers import erase_customer as erase_one
    from firstpiece.shop.customers import read_customer

    name = read_customer(customer).name
    if not yes:
        question = _("Erase {name} for good?").format(name=name or customer)
        click.confirm(question, abort=True, err=True)
    done = erase_one(customer, expected=seen)
    if as_json:
        content = {"number": customer, "jobs": list(done.jobs), "pictures": list(done.pictures)}
        print_json("erasure", content)
        return
    text = _("Erased; {jobs} jobs are kept as figures, {pictures} pictures are gone.").format(
        jobs=len(done.jobs), pictures=len(done.pictures)
    )
    open_console().print(text, markup=False)
