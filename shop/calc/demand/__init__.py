"""What the room will use, when to order, and how much."""

from shop.calc.demand.forecast import DemandForecast, DemandTotal
from shop.calc.demand.intermittent import BackTest, Intermittent, back_test, croston, sba, tsb
from shop.calc.demand.leadtime import LeadTime, lead_time
from shop.calc.demand.loss import (
    normal_loss,
    poisson_fill_rate,
    poisson_loss,
    poisson_ready_rate,
    second_normal_loss,
    unit_normal_loss,
)
from shop.calc.demand.methods import METHOD_WORDS, METHODS, Forecast, MethodName
from shop.calc.demand.order import (
    BreakQuantity,
    OrderUpTo,
    base_stock,
    eoq,
    eoq_with_backorders,
    eoq_with_discounts,
    newsvendor,
    newsvendor_discrete,
    newsvendor_poisson,
)
from shop.calc.demand.outlook import outlook, outlooks
from shop.calc.demand.pick import MethodScore, Picked, pick_method, pick_methods
from shop.calc.demand.question import (
    Booked,
    Coming,
    Fan,
    LeadDemand,
    LotLeft,
    LotLoss,
    Outlook,
    Question,
    Suggestion,
    Week,
)
from shop.calc.demand.reorder import ReorderPoint, lead_time_demand, reorder_point
from shop.calc.demand.rq import RQ, RQ_METHODS, rq_cost, rq_normal, rq_poisson

__all__ = [
    "METHODS",
    "METHOD_WORDS",
    "RQ",
    "RQ_METHODS",
    "BackTest",
    "Booked",
    "BreakQuantity",
    "Coming",
    "DemandForecast",
    "DemandTotal",
    "Fan",
    "Forecast",
    "Intermittent",
    "LeadDemand",
    "LeadTime",
    "LotLeft",
    "LotLoss",
    "MethodName",
    "MethodScore",
    "OrderUpTo",
    "Outlook",
    "Picked",
    "Question",
    "ReorderPoint",
    "Suggestion",
    "Week",
    "back_test",
    "base_stock",
    "croston",
    "eoq",
    "eoq_with_backorders",
    "eoq_with_discounts",
    "lead_time",
    "lead_time_demand",
    "newsvendor",
    "newsvendor_discrete",
    "newsvendor_poisson",
    "normal_loss",
    "outlook",
    "outlooks",
    "pick_method",
    "pick_methods",
    "poisson_fill_rate",
    "poisson_loss",
    "poisson_ready_rate",
    "reorder_point",
    "rq_cost",
    "rq_normal",
    "rq_poisson",
    "sba",
    "second_normal_loss",
    "tsb",
    "unit_normal_loss",
]
