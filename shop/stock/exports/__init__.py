"""What of stock can be carried away, and what stands in each file."""

from shop.stock.exports.counts import COUNTS
from shop.stock.exports.kept import KEPT
from shop.stock.exports.orders import ORDERS

EXPORTS = (*KEPT, *ORDERS, *COUNTS)

__all__ = ["EXPORTS"]
