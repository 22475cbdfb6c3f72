"""What only those see who see what stock is worth."""

from shop.people.models import ENGINEERS

#: Columns of money, by heading, and the roles they are shown to.
MONEY = {"Price of one": ENGINEERS}
