"""The tables of training."""

from shop.training.models.acts import Act, Authority, AuthorityWithdrawn

__all__ = ["Act", "Authority", "AuthorityWithdrawn"]
