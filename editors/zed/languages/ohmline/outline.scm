(circuit_statement "circuit" @context title: (text) @name) @item
(part_head "part" @context name: (name) @name) @item
(case_statement "case" @context name: (text) @name) @item
(let_statement "let" @context name: (name) @name) @item
(declaration kind: (_) @context name: (name) @name) @item
