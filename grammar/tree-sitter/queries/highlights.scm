; Where several patterns match, the later one wins.

(name) @variable

; Names that are given here.
(let_statement name: (name) @constant)
(part_head name: (name) @type)
(part_head port: (name) @variable.parameter)
(repeat_head variable: (name) @variable.parameter)
(declaration kind: (part_name) @type)
(option name: (name) @property)

; Behind a dot: an option, a terminal, a thing inside a part.
(dotted_name (name) "." (name) @property)
(value_name (name) "." (name) @property)

((value_name (name) @constant.builtin)
  (#any-of? @constant.builtin "open" "closed" "shorted"))

(kind) @type.builtin
(junction) @label
(text) @string
(number) @number
(unit) @type
(unknown "?" @constant.builtin)

(comment) @comment
(doc_comment) @comment.documentation

; `# allow RULE: reason`
(allow_comment) @comment
(allow_comment (allow) @keyword)
(allow_comment (rule) @attribute)

[
  "circuit"
  "include"
  "let"
  "reference"
  "claim"
  "find"
  "given"
  "measured"
  "case"
  "part"
  "repeat"
  (end_statement)
] @keyword

[
  "current"
  "voltage"
  "potential"
  "resistance"
  "capacitance"
  "power"
  "charge"
  "energy"
  "value"
] @function.builtin

[
  "through"
  "into"
  "across"
  "between"
  "seen"
  "by"
  "of"
  "series"
  "parallel"
  "at"
  "within"
  "after"
  "in"
  "to"
  "from"
  "and"
] @keyword.operator

(wire) @operator
(sign) @operator
["=" "+" "-" "*" "/" "−"] @operator
["," ":" "."] @punctuation.delimiter
["(" ")"] @punctuation.bracket
(group ["(" "|" ")"] @punctuation.bracket)
