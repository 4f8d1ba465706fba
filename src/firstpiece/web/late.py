"""The pages that know the whole chain, in the order their routes are asked; see ``late_pages``."""

from __future__ import annotations

from firstpiece.web import (
    area_pages,
    layout_pages,
    shop_asking_pages,
    shop_compare_pages,
    shop_customer_pages,
    shop_day_pages,
    shop_design_pages,
    shop_job_pages,
    shop_kept_pages,
    shop_paper_pages,
    shop_price_pages,
    shop_setup_pages,
    shop_sewn_pages,
    shop_stock_pages,
    shop_supplier_pages,
    shop_ticket_pages,
)
from firstpiece.web.shop_words import FILTERS

# A name before a number in the same place: the labels of all bags are no thing in stock.
PAGES = (
    area_pages,
    layout_pages,
    shop_paper_pages,
    shop_asking_pages,
    shop_compare_pages,
    shop_customer_pages,
    shop_day_pages,
    shop_design_pages,
    shop_job_pages,
    shop_kept_pages,
    shop_price_pages,
    shop_setup_pages,
    shop_sewn_pages,
    shop_stock_pages,
    shop_supplier_pages,
    shop_ticket_pages,
)

__all__ = ["FILTERS", "PAGES"]
