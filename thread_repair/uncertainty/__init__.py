"""How sure it is: probabilities of failure, and what pull tests show."""
