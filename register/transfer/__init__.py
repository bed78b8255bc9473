"""One aircraft's history for another owner, and nothing else: pure rules over streams.

What goes is decided by an allow-list, never by leaving things out: which records (`scope`),
which fields of each (`allowed`), what is masked in free text (`masking`), what stands for
totals earned elsewhere (`usage`). Then everything that is to go is searched for what must not
(`scanning`). The receiver's rules are in `arrival`.
"""
