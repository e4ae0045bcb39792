// The part of the lexer that looks at words, dashes and line ends.
//
// It follows the lexer of the language (crates/syntax): the same letters, the same reserved words, the same rule for when a
// line goes on. It keeps no state, so every place of a text can be read anew by itself.

#include "tree_sitter/parser.h"

#include "words.h"

// In the order of `externals` in grammar.js; the keywords follow, see words.h.
enum Token {
  NEWLINE,
  END_OF_FILE,
  CONTINUATION,
  NAME,
  RESERVED_NAME,
  TOUCHING_NAME,
  KIND,
  UNIT,
  DEFINING_EQUALS,
  JUNCTION,
  WIRE,
  SIGN_BEHIND,
  // The mark of a comment that allows a rule, its word, a rule in it, and its rest.
  ALLOWING,
  ALLOW,
  RULE,
  ALLOWED,
  // What a line lacks that ends too early.
  MISSING,
  // Fits nowhere, so it is valid only while the parser recovers from an error.
  NEVER,
  FIRST_KEYWORD,
};

void *tree_sitter_ohmline_external_scanner_create(void) { return NULL; }
void tree_sitter_ohmline_external_scanner_destroy(void *payload) { (void)payload; }
unsigned tree_sitter_ohmline_external_scanner_serialize(void *payload, char *buffer) {
  (void)payload;
  (void)buffer;
  return 0;
}
void tree_sitter_ohmline_external_scanner_deserialize(void *payload, const char *buffer, unsigned length) {
  (void)payload;
  (void)buffer;
  (void)length;
}

static bool in_ranges(const uint32_t ranges[][2], unsigned count, int32_t character) {
  uint32_t wanted = (uint32_t)character;
  unsigned low = 0, high = count;
  while (low < high) {
    unsigned middle = (low + high) / 2;
    if (wanted < ranges[middle][0]) {
      high = middle;
    } else if (wanted > ranges[middle][1]) {
      low = middle + 1;
    } else {
      return true;
    }
  }
  return false;
}

static bool is_digit(int32_t c) { return c >= '0' && c <= '9'; }

static bool is_letter(int32_t c) {
  if (c < 128) return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  return in_ranges(LETTERS, LETTERS_COUNT, c);
}

// What a name may go on with, holes apart: letters, marks, digits and `_`.
static bool is_rest(int32_t c) {
  if (c < 128) return is_letter(c) || is_digit(c) || c == '_';
  return is_letter(c) || in_ranges(MARKS, MARKS_COUNT, c);
}

static bool is_blank(int32_t c) {
  return c == ' ' || c == '\t' || c == 0x0B || c == 0x0C || c == 0xA0 || c == 0x1680 || (c >= 0x2000 && c <= 0x200A) ||
         c == 0x202F || c == 0x205F || c == 0x3000 || c == 0xFEFF;
}

static bool is_hyphen(int32_t c) { return c == '-' || c == 0x2212; }

static bool is_dash(int32_t c) { return (c >= 0x2010 && c <= 0x2015) || c == 0x2500 || c == 0x2501; }

static bool is_line_end(int32_t c) { return c == '\n' || c == '\r'; }

static void advance(TSLexer *lexer) { lexer->advance(lexer, false); }

// Moves over letters, marks, digits, `_` and whole holes such as `{k+1}`; marks the end behind the last of them.
// Writes the word into `word` when it is short and plain, else leaves it empty. Gives whether there was anything.
static bool scan_rest(TSLexer *lexer, char *word) {
  unsigned length = 0;
  bool plain = true;
  bool any = false;
  for (;;) {
    int32_t c = lexer->lookahead;
    if (is_rest(c) && !lexer->eof(lexer)) {
      if (c < 128 && length + 1 < WORD_SIZE) {
        word[length++] = (char)c;
      } else {
        plain = false;
      }
      advance(lexer);
    } else if (c == '{') {
      plain = false;
      advance(lexer);
      if (!is_letter(lexer->lookahead)) break;
      while (is_letter(lexer->lookahead) || is_digit(lexer->lookahead)) advance(lexer);
      if (lexer->lookahead == '+' || is_hyphen(lexer->lookahead)) {
        advance(lexer);
        if (!is_digit(lexer->lookahead)) break;
        while (is_digit(lexer->lookahead)) advance(lexer);
      }
      if (lexer->lookahead != '}') break;
      advance(lexer);
    } else {
      break;
    }
    any = true;
    lexer->mark_end(lexer);
  }
  word[plain ? length : 0] = '\0';
  return any;
}

static bool scan_junction(TSLexer *lexer) {
  char word[WORD_SIZE];
  advance(lexer);
  if (!scan_rest(lexer, word)) return false;
  while (lexer->lookahead == '.') {
    advance(lexer);
    if (!scan_rest(lexer, word)) break;
  }
  lexer->result_symbol = JUNCTION;
  return true;
}

static bool scan_word(TSLexer *lexer, const bool *valid, bool recovers, bool touches) {
  char word[WORD_SIZE];
  scan_rest(lexer, word);
  const Word *known = NULL;
  for (unsigned i = 0; word[0] && i < WORDS_COUNT && !known; i++) {
    const char *a = WORDS[i].text, *b = word;
    while (*a && *a == *b) a++, b++;
    if (*a == *b) known = &WORDS[i];
  }
  if (!recovers && valid[UNIT] && !(known && known->after_number)) {
    lexer->result_symbol = UNIT;
    return true;
  }
  if (known) {
    // A kind of element has no keyword of its own.
    TSSymbol token = (TSSymbol)(known->keyword < 0 ? KIND : FIRST_KEYWORD + known->keyword);
    bool name_fits = known->reserved ? valid[RESERVED_NAME] : (valid[NAME] || valid[TOUCHING_NAME]);
    if (recovers || valid[token] || (known->reserved && !name_fits)) {
      lexer->result_symbol = token;
      return true;
    }
    if (known->reserved) {
      lexer->result_symbol = RESERVED_NAME;
      return true;
    }
  }
  lexer->result_symbol = !recovers && touches && valid[TOUCHING_NAME] ? TOUCHING_NAME : NAME;
  return true;
}

// Two hyphens, or a longer or typographic run, which is a wire only where it touches no name.
static bool scan_dashes(TSLexer *lexer, const bool *valid, bool touches) {
  unsigned count = 0;
  bool typographic = is_dash(lexer->lookahead);
  // A run that goes on with the line above touches nothing there.
  bool begins_line = lexer->get_column(lexer) == 0;
  while (typographic ? is_dash(lexer->lookahead) : is_hyphen(lexer->lookahead)) {
    count++;
    advance(lexer);
  }
  if (!typographic && count == 1) {
    if (!touches || !valid[SIGN_BEHIND]) return false;
    lexer->mark_end(lexer);
    lexer->result_symbol = SIGN_BEHIND;
    return true;
  }
  lexer->mark_end(lexer);
  lexer->result_symbol = WIRE;
  if (typographic || count > 2) {
    int32_t next = lexer->lookahead;
    bool touches_next = !lexer->eof(lexer) && !is_blank(next) && !is_line_end(next) && next != '#';
    bool left = touches && !begins_line && valid[SIGN_BEHIND] && !valid[NEVER];
    bool right = is_letter(next);
    if ((left || right) && !(count == 1 && touches && touches_next)) lexer->result_symbol = NEVER;
  }
  return true;
}

static bool is_blank_in_line(int32_t c) { return c == ' ' || c == '\t'; }

static bool is_plain_letter(int32_t c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

static void skip_between_rules(TSLexer *lexer) {
  while (is_blank_in_line(lexer->lookahead) || lexer->lookahead == ',') advance(lexer);
}

// Moves over letters and hyphens; gives whether they can be the name of a rule: words joined by hyphens.
static bool scan_rule(TSLexer *lexer) {
  bool joined = false, letter = false;
  if (!is_plain_letter(lexer->lookahead)) return false;
  while (is_plain_letter(lexer->lookahead) || lexer->lookahead == '-') {
    letter = lexer->lookahead != '-';
    joined |= !letter;
    advance(lexer);
  }
  return joined && letter;
}

static bool scan_words(TSLexer *lexer, const char *words) {
  for (; *words; words++) {
    if (lexer->lookahead != *words) return false;
    advance(lexer);
  }
  return true;
}

// `# allow RULE, RULE in this file: reason`. Without a rule, or a colon behind the rules, it is a comment like any other.
static bool scan_allowing(TSLexer *lexer) {
  advance(lexer);
  lexer->mark_end(lexer);
  while (is_blank_in_line(lexer->lookahead)) advance(lexer);
  if (!scan_words(lexer, "allow") || !is_blank_in_line(lexer->lookahead)) return false;
  bool any = false;
  for (;;) {
    skip_between_rules(lexer);
    if (any && lexer->lookahead == ':') break;
    // `in this file` may stand behind the last rule; a rule may begin with the same letter.
    if (any && lexer->lookahead == 'i') {
      advance(lexer);
      if (lexer->lookahead == 'n') {
        advance(lexer);
        if (lexer->lookahead == ' ') {
          if (!scan_words(lexer, " this file")) return false;
          while (is_blank_in_line(lexer->lookahead)) advance(lexer);
          if (lexer->lookahead != ':') return false;
          break;
        }
      }
    }
    if (!scan_rule(lexer)) return false;
    any = true;
  }
  lexer->result_symbol = ALLOWING;
  return true;
}

// What follows in such a comment: its word, then the next rule, else all that is left of the line.
static bool scan_allowed(TSLexer *lexer, const bool *valid) {
  while (is_blank_in_line(lexer->lookahead) || lexer->lookahead == ',') lexer->advance(lexer, true);
  if (valid[ALLOW]) {
    lexer->result_symbol = ALLOW;
    bool found = scan_words(lexer, "allow");
    lexer->mark_end(lexer);
    return found;
  }
  lexer->mark_end(lexer);
  if (scan_rule(lexer)) {
    lexer->mark_end(lexer);
    lexer->result_symbol = RULE;
    return true;
  }
  while (!lexer->eof(lexer) && !is_line_end(lexer->lookahead)) advance(lexer);
  lexer->mark_end(lexer);
  lexer->result_symbol = ALLOWED;
  return true;
}

// A line end, when the statement goes on in the next line; nothing but the place before it, when the line lacks something.
static bool scan_line_end(TSLexer *lexer, const bool *valid, bool recovers) {
  // Where a line end can stand and the end of the file cannot, no statement has begun.
  bool begun = recovers || valid[END_OF_FILE] || !valid[NEWLINE];
  bool lacks = !recovers && valid[MISSING] && !valid[NEWLINE];
  if (lacks) lexer->mark_end(lexer);
  bool carriage = lexer->lookahead == '\r';
  advance(lexer);
  if (carriage && lexer->lookahead == '\n') advance(lexer);
  if (!lacks) lexer->mark_end(lexer);
  lexer->result_symbol = lacks ? MISSING : NEWLINE;
  if (!begun) return true;

  while (is_blank(lexer->lookahead)) advance(lexer);
  int32_t c = lexer->lookahead;
  bool goes_on = c == '|' || c == ',' || c == ')' || is_dash(c) || (c == '=' && valid[DEFINING_EQUALS] && !recovers);
  if (is_hyphen(c)) {
    if (lacks) lexer->mark_end(lexer);
    advance(lexer);
    if (is_hyphen(lexer->lookahead)) {
      lexer->result_symbol = CONTINUATION;
    } else if (lacks) {
      // The place before the line end is lost by now; the parser finds its own way.
      lexer->result_symbol = NEWLINE;
    }
  } else if (goes_on) {
    if (lacks) lexer->mark_end(lexer);
    lexer->result_symbol = CONTINUATION;
  }
  return true;
}

bool tree_sitter_ohmline_external_scanner_scan(void *payload, TSLexer *lexer, const bool *valid) {
  (void)payload;
  bool recovers = valid[NEVER];
  // Only within a comment that allows something; no blank there is to be lost.
  if ((valid[ALLOW] || valid[RULE] || valid[ALLOWED]) && !recovers) return scan_allowed(lexer, valid);
  bool touches = true;
  while (is_blank(lexer->lookahead)) {
    lexer->advance(lexer, true);
    touches = false;
  }
  if (lexer->eof(lexer)) {
    if (recovers || !(valid[END_OF_FILE] || valid[MISSING])) return false;
    lexer->mark_end(lexer);
    lexer->result_symbol = valid[END_OF_FILE] ? END_OF_FILE : MISSING;
    return true;
  }
  int32_t c = lexer->lookahead;
  if (is_line_end(c)) return scan_line_end(lexer, valid, recovers);
  if (is_letter(c)) return scan_word(lexer, valid, recovers, touches);
  if (c == '@') return scan_junction(lexer);
  if (c == '#' && valid[ALLOWING] && !recovers) return scan_allowing(lexer);
  if (is_hyphen(c) || is_dash(c)) return scan_dashes(lexer, valid, touches);
  if (c == '+' && valid[SIGN_BEHIND] && touches && !recovers) {
    advance(lexer);
    lexer->mark_end(lexer);
    lexer->result_symbol = SIGN_BEHIND;
    return true;
  }
  if (c == '%' && valid[UNIT]) {
    advance(lexer);
    lexer->mark_end(lexer);
    lexer->result_symbol = UNIT;
    return true;
  }
  if (c == '=' && valid[DEFINING_EQUALS] && !recovers) {
    advance(lexer);
    lexer->mark_end(lexer);
    lexer->result_symbol = DEFINING_EQUALS;
    return true;
  }
  return false;
}
