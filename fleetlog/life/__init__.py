"""How long parts last: life distributions, recurrent work and renewal age over plain arrays."""
