"""The expression language: one equation, stated once, computes, checks its dimensions, typesets and works itself out."""
