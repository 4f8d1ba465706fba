"""A shop in a home of its own: one design, agreed jobs, stock; for tests of stock, day, tickets."""

from __future__ import annotations

from datetime import date

from firstpiece.model.customer import Customer
from firstpiece.model.order import OrderLine
from firstpiece.model.stock import Supplier
from firstpiece.shop.customers import open_customer
from firstpiece.shop.job_book import open_job
from firstpiece.shop.job_design import revise_job
from firstpiece.shop.job_order import agree_job, offer_price, put_line
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.shop.stock_book import put_supplier, receive_stock
from firstpiece.shop.stock_entry import StockEntry, add_entry

MONDAY = date(2031, 9, 1)
FRIDAY = date(2031, 9, 5)


def agreed_job(picture, *lines, due=FRIDAY, consent=(), title="Harvest aprons"):
    """Return the number of a job agreed for these lines (garment, count, size, names)."""
    customer = open_customer(Customer(0, "Windfall Row", consent=consent))
    job = open_job(title=title, customer=customer.id, due=due)
    for garment, count, size, names in lines:
        put_line(job.id, OrderLine(0, garment, count, size=size, names=names))
    revise_job(job.id, PrepareRequest(data=picture, name="badge.png", height_mm=60.0))
    offer_price(job.id)
    agree_job(job.id, said_by="Ida, by letter")
    return job.id


def stocked(name, n=0, *, kind="blank", supplier="the mill", place="", **more):
    """Return the number of a thing put on the list with so many of it there."""
    put_supplier(Supplier("the mill", 5))
    item = add_entry(StockEntry(kind, name, supplier=supplier, **more)).item.id
    if n:
        receive_stock(item, n, place=place)
    return item
