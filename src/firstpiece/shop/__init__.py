"""What the shop does, one function a thing; the only floor with a clock, chance and the store.

The names below are loaded when first used: everything the page and the command line do with
customers, jobs, prices, stock, set-up, tickets and the day.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from firstpiece.model.customer import Consent, Customer
    from firstpiece.model.job import JobState
    from firstpiece.model.order import OrderLine
    from firstpiece.model.quote import OrderTerms
    from firstpiece.model.stock import Supplier, SupplyKind
    from firstpiece.model.ticket import Spoil
    from firstpiece.shop.backup_book import back_up, list_backups, restore, try_backup
    from firstpiece.shop.budget import fit_budget
    from firstpiece.shop.code_print import make_tickets
    from firstpiece.shop.customers import (
        change_customer,
        erase_customer,
        export_customer,
        list_customers,
        open_customer,
        read_customer,
    )
    from firstpiece.shop.day import load_for_job, plan_shop_day
    from firstpiece.shop.finishing import finish_job
    from firstpiece.shop.job_book import (
        change_head,
        drop_job,
        list_jobs,
        note_job,
        open_job,
        read_job,
        read_page,
        record_answer,
        record_question,
        search_shop,
        step_job,
        take_up_job,
    )
    from firstpiece.shop.job_design import (
        compare_priced,
        prepare_revision,
        receive_picture,
        revise_job,
        set_colorway,
    )
    from firstpiece.shop.job_intake import open_with_pictures
    from firstpiece.shop.job_order import (
        agree_job,
        change_line,
        offer_price,
        put_line,
        quote_job,
        remove_line,
        reorder_job,
    )
    from firstpiece.shop.job_tables import import_tables, write_tables
    from firstpiece.shop.needles import ConeChoice, list_needles, put_cone
    from firstpiece.shop.offer_message import write_offer
    from firstpiece.shop.order_questions import (
        answer_order,
        answer_rest,
        ask_order,
        list_order_questions,
    )
    from firstpiece.shop.papers import PaperChoice, make_papers
    from firstpiece.shop.placements import (
        PlaceEntry,
        list_placements,
        put_placement,
        remove_placement,
    )
    from firstpiece.shop.prepare import PrepareRequest
    from firstpiece.shop.sewout_log import Seen, how_it_sewed, record_sewout
    from firstpiece.shop.stock_book import (
        count_stock,
        list_buying,
        list_stock,
        list_suppliers,
        put_supplier,
        read_stock,
        receive_stock,
        record_purchase,
        take_for_job,
    )
    from firstpiece.shop.stock_entry import ItemChange, StockEntry, add_entry, change_entry
    from firstpiece.shop.substitutes import answer_substitute, ask_substitute
    from firstpiece.shop.tickets import (
        check_ticket,
        list_tickets,
        read_photo,
        record_sewn,
        record_spoiled,
    )

_HOMES = {
    "ConeChoice": "shop.needles",
    "Consent": "model.customer",
    "Customer": "model.customer",
    "ItemChange": "shop.stock_entry",
    "JobState": "model.job",
    "OrderLine": "model.order",
    "OrderTerms": "model.quote",
    "PaperChoice": "shop.papers",
    "PlaceEntry": "shop.placements",
    "PrepareRequest": "shop.prepare",
    "Seen": "shop.sewout_log",
    "Spoil": "model.ticket",
    "StockEntry": "shop.stock_entry",
    "Supplier": "model.stock",
    "SupplyKind": "model.stock",
    "add_entry": "shop.stock_entry",
    "agree_job": "shop.job_order",
    "answer_order": "shop.order_questions",
    "answer_rest": "shop.order_questions",
    "answer_substitute": "shop.substitutes",
    "ask_order": "shop.order_questions",
    "ask_substitute": "shop.substitutes",
    "back_up": "shop.backup_book",
    "change_customer": "shop.customers",
    "change_entry": "shop.stock_entry",
    "change_head": "shop.job_book",
    "change_line": "shop.job_order",
    "check_ticket": "shop.tickets",
    "compare_priced": "shop.job_design",
    "count_stock": "shop.stock_book",
    "drop_job": "shop.job_book",
    "erase_customer": "shop.customers",
    "export_customer": "shop.customers",
    "finish_job": "shop.finishing",
    "fit_budget": "shop.budget",
    "how_it_sewed": "shop.sewout_log",
    "import_tables": "shop.job_tables",
    "list_backups": "shop.backup_book",
    "list_buying": "shop.stock_book",
    "list_customers": "shop.customers",
    "list_jobs": "shop.job_book",
    "list_needles": "shop.needles",
    "list_order_questions": "shop.order_questions",
    "list_placements": "shop.placements",
    "list_stock": "shop.stock_book",
    "list_suppliers": "shop.stock_book",
    "list_tickets": "shop.tickets",
    "load_for_job": "shop.day",
    "make_papers": "shop.papers",
    "make_tickets": "shop.code_print",
    "note_job": "shop.job_book",
    "offer_price": "shop.job_order",
    "open_customer": "shop.customers",
    "open_job": "shop.job_book",
    "open_with_pictures": "shop.job_intake",
    "plan_shop_day": "shop.day",
    "prepare_revision": "shop.job_design",
    "put_cone": "shop.needles",
    "put_line": "shop.job_order",
    "put_placement": "shop.placements",
    "put_supplier": "shop.stock_book",
    "quote_job": "shop.job_order",
    "read_customer": "shop.customers",
    "read_job": "shop.job_book",
    "read_page": "shop.job_book",
    "read_photo": "shop.tickets",
    "read_stock": "shop.stock_book",
    "receive_picture": "shop.job_design",
    "receive_stock": "shop.stock_book",
    "record_answer": "shop.job_book",
    "record_purchase": "shop.stock_book",
    "record_question": "shop.job_book",
    "record_sewn": "shop.tickets",
    "record_sewout": "shop.sewout_log",
    "record_spoiled": "shop.tickets",
    "remove_line": "shop.job_order",
    "remove_placement": "shop.placements",
    "reorder_job": "shop.job_order",
    "restore": "shop.backup_book",
    "revise_job": "shop.job_design",
    "search_shop": "shop.job_book",
    "set_colorway": "shop.job_design",
    "step_job": "shop.job_book",
    "take_for_job": "shop.stock_book",
    "take_up_job": "shop.job_book",
    "try_backup": "shop.backup_book",
    "write_offer": "shop.offer_message",
    "write_tables": "shop.job_tables",
}

__all__ = [
    "ConeChoice",
    "Consent",
    "Customer",
    "ItemChange",
    "JobState",
    "OrderLine",
    "OrderTerms",
    "PaperChoice",
    "PlaceEntry",
    "PrepareRequest",
    "Seen",
    "Spoil",
    "StockEntry",
    "Supplier",
    "SupplyKind",
    "add_entry",
    "agree_job",
    "answer_order",
    "answer_rest",
    "answer_substitute",
    "ask_order",
    "ask_substitute",
    "back_up",
    "change_customer",
    "change_entry",
    "change_head",
    "change_line",
    "check_ticket",
    "compare_priced",
    "count_stock",
    "drop_job",
    "erase_customer",
    "export_customer",
    "finish_job",
    "fit_budget",
    "how_it_sewed",
    "import_tables",
    "list_backups",
    "list_buying",
    "list_customers",
    "list_jobs",
    "list_needles",
    "list_order_questions",
    "list_placements",
    "list_stock",
    "list_suppliers",
    "list_tickets",
    "load_for_job",
    "make_papers",
    "make_tickets",
    "note_job",
    "offer_price",
    "open_customer",
    "open_job",
    "open_with_pictures",
    "plan_shop_day",
    "prepare_revision",
    "put_cone",
    "put_line",
    "put_placement",
    "put_supplier",
    "quote_job",
    "read_customer",
    "read_job",
    "read_page",
    "read_photo",
    "read_stock",
    "receive_picture",
    "receive_stock",
    "record_answer",
    "record_purchase",
    "record_question",
    "record_sewn",
    "record_sewout",
    "record_spoiled",
    "remove_line",
    "remove_placement",
    "reorder_job",
    "restore",
    "revise_job",
    "search_shop",
    "set_colorway",
    "step_job",
    "take_for_job",
    "take_up_job",
    "try_backup",
    "write_offer",
    "write_tables",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'firstpiece.shop' has no attribute {name!r}"
        raise AttributeError(msg)
    value = getattr(import_module(f"firstpiece.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
