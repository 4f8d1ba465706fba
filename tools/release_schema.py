"""Keep a store as the newest schema writes it: ``python tools/release_schema.py ADDRESS``.

Run once when a schema is released, with the address of an empty PostgreSQL database. Writes
``tests/store/released/NNNN.sqlite`` and ``NNNN.sql``, from which every later schema must come up.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from moneyed import Money

from firstpiece.model import job_rules as rules
from firstpiece.model.buying import Yes
from firstpiece.model.customer import Consent, Customer
from firstpiece.model.design import ReceivedPicture, Revision
from firstpiece.model.order import Colorway, OrderLine
from firstpiece.model.region import TraceOptions
from firstpiece.model.stitch import StitchSpec, StitchType, Underlay
from firstpiece.model.stock import Cause, Lot, StockItem, Supplier, SupplyKey, SupplyKind
from firstpiece.model.ticket import PieceStep
from firstpiece.store import purchases, stock, tickets
from firstpiece.store.backup import copy_database
from firstpiece.store.customers import add_customer
from firstpiece.store.database import ShopStore, open_store
from firstpiece.store.jobs import change_job, create_job, read_job
from firstpiece.store.migrate import HEAD

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from firstpiece.model.job import Job

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "tests" / "store" / "released"
NOON = datetime(2031, 4, 5, 12, 0, tzinfo=UTC)

DESIGN = Revision(
    number=1,
    picture="0" * 64,
    height_mm=90.0,
    width_mm=60.0,
    garment="apron-natural",
    thread="poly-40",
    options=TraceOptions(bare_colors=((255, 255, 255),)),
    specs=((2, StitchSpec(StitchType.FILL, row_spacing_mm=0.4, underlay=(Underlay.LATTICE,))),),
    plan_id="12ab34cd",
    threads=("moss", "poppy"),
    n_stitches=8000,
    minutes=12.5,
    quantity=5,
    each=Money("9.50", "GBP"),
    blocks_sewing=False,
    reason="first draft",
)


def fill(store: ShopStore) -> None:
    """Write one job agreed, its reorder and one dropped."""
    with store.write() as connection:
        who = Customer(0, "Windfall Row", "letters at the gate", "pays late", (Consent.PHOTOS,))
        customer = add_customer(connection, who, at=NOON)
        job = create_job(
            connection, rules.open_job(title="Harvest aprons", customer=customer.id), at=NOON
        )
        line = OrderLine(0, "apron-natural", 5, size="M", names=("Quentin",))
        picture = ReceivedPicture("0" * 64, "emblem.jpg", 1234, NOON)
        price = Money("47.50", "GBP")

        def act(number: int, *actions: object) -> Job:
            for action in actions:
                change_job(connection, number, action, at=NOON)  # type: ignore[arg-type]
            return read_job(connection, number)

        act(
            job.id,
            lambda j: rules.put_line(j, line),
            lambda j: rules.receive_picture(j, picture),
            lambda j: rules.revise(j, DESIGN),
            lambda j: rules.set_colorway(j, Colorway("dusk", ("rust", "straw"))),
            lambda j: rules.note(j, "rang on Tuesday"),
            lambda j: rules.offer(j, quantity=5, net=price, total=price, valid_until=None),
            lambda j: rules.agree(j, said_by="Ida, by letter"),
        )
        create_job(connection, rules.reorder(read_job(connection, job.id)), at=NOON)
        dropped = create_job(connection, rules.open_job(title="Never sewn"), at=NOON)
        act(dropped.id, lambda j: rules.drop(j, "moved away"))
        fill_stock(connection, job.id)


def fill_stock(connection: Connection, job: int) -> None:
    """Write a thing in stock that a job took from, a substitute asked for, and a sewn piece."""
    stock.put_supplier(connection, Supplier("the mill", 5, None, "Mondays only"))
    key = SupplyKey(SupplyKind.BLANK, "apron-natural", "natural", "M")
    item = stock.add_item(connection, StockItem(0, key, supplier="the mill", pack=6))
    for change, cause, why in ((12, Cause.RECEIVED, ("", 0)), (-5, Cause.TAKEN, ("", job))):
        stock.move(connection, item, Lot("A1", change), cause=cause, at=NOON, why=why)
    purchases.put_substitute(connection, (job, 1), item.id, answer=Yes.ASKED, at=NOON)
    for step in (PieceStep.PRINTED, PieceStep.STARTED, PieceStep.SEWN):
        tickets.add_piece_event(
            connection, (job, 1, 1), step, plan_id="12ab34cd", figures={}, at=NOON
        )


def main() -> int:
    """Write the two files of the newest schema; existing ones are never replaced."""
    from system_packages import find_program

    if len(sys.argv) != 2:
        sys.stderr.write("usage: release_schema.py postgresql://…/empty-database\n")
        return 2
    files = [FOLDER / f"{HEAD:04d}.{kind}" for kind in ("sqlite", "sql")]
    if any(path.exists() for path in files):
        sys.stderr.write(f"schema {HEAD} was released already\n")
        return 1
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        for address in (f"{scratch}/store.sqlite", sys.argv[1]):
            store = open_store(address, pictures=Path(scratch) / "pictures", at=NOON)
            fill(store)
            if store.is_sqlite:
                copy_database(store, files[0], at=NOON)
            store.close()
    dump = [str(find_program("pg_dump")), "--no-owner", "--no-privileges", "--inserts", sys.argv[1]]
    done = subprocess.run(dump, capture_output=True, text=True, check=True)
    # Two commands that only newer clients know would make older ones stop.
    newer = ("\\restrict", "\\unrestrict")
    lines = [line for line in done.stdout.splitlines() if not line.startswith(newer)]
    files[1].write_text("\n".join(lines) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
