#!/bin/sh
# Opens a sample in the real Kakoune, inside a terminal of tmux, and fails unless diagnostics, hover and edits work.
#
#   OHMLINE=target/debug/ohmline PATH=folder-of-kak-lsp:$PATH sh tests/editors/kakoune.sh editors/kakoune [PICTURE-FOLDER]

set -eu
server=$(realpath "$OHMLINE")
folder=$(realpath "$1")
pictures=${2:-}
home=$(mktemp -d)
socket=$home/tmux
export HOME="$home" XDG_CONFIG_HOME="$home/config" XDG_RUNTIME_DIR="$home/run" LC_ALL=C.UTF-8 TERM=xterm-256color
mkdir -p "$home/config/kak/autoload" "$home/run"
chmod 700 "$home/run"
# As the README says.
ln -s "$(dirname "$(dirname "$(command -v kak)")")/share/kak/autoload" "$home/config/kak/autoload/standard"
cp "$folder/ohmline.kak" "$home/config/kak/autoload/"
# As the README says, with this server in the place of the one on the path.
{
    # shellcheck disable=SC2016
    echo 'evaluate-commands %sh{kak-lsp}'
    sed "s|command = \"ohmline\"|command = \"$server\"|" "$folder/lsp.kak"
    echo 'hook global WinSetOption filetype=markdown ohmline-in-markdown'
    echo "set-option global lsp_debug true"
} > "$home/config/kak/kakrc"
file=$home/pier.ohmline
cat > "$file" <<'END'
## Pier lamps of the model harbour: Ω and 🔋 count as editors count them.
circuit "Pier lamps"
battery  B1 = 4.5 V
resistor R1 = 9 Ω
resistor R2 = 10 Ω
resistor R3 = 15 Ω
B1+ -- R1 -- @fork -- R2 -- @join --- B1-
@fork -- R3 -- @join
claim R1, R2 in series
END

tm() { tmux -S "$socket" "$@"; }
cleanup() {
    tm kill-server 2>/dev/null || true
    rm -rf "$home" 2>/dev/null || true
}
trap cleanup EXIT
tm -f /dev/null new-session -d -x 110 -y 32 "kak -s harbour '$file' 2>$home/errors"

screen() { tm capture-pane -p; }
keys() { tm send-keys "$@"; }
kak_do() { printf 'evaluate-commands -client client0 %%{ %s }\n' "$1" | kak -p harbour; }
shot() { [ -z "$pictures" ] || tm capture-pane -e -p > "$pictures/kakoune-$1.txt"; }
fail() {
    echo "failed: $1"
    screen
    printf 'evaluate-commands -client client0 %%{ buffer *debug* }\n' | kak -p harbour || true
    sleep 1
    screen
    exit 1
}
# Waits until the screen shows a pattern.
await() {
    for _ in $(seq 150); do
        if screen | grep -q -e "$2"; then
            echo "ok: $1"
            return 0
        fi
        sleep 0.2
    done
    fail "$1"
}
# Waits until the saved file holds a pattern.
saved() {
    for _ in $(seq 50); do
        kak_do 'try %{ write }'
        sleep 0.2
        if grep -q -e "$2" "$file"; then
            echo "ok: $1"
            return 0
        fi
    done
    cat "$file"
    fail "$1"
}

await 'the sample opens' 'circuit "Pier lamps"'
await 'the file type is known' 'ohmline'
# The flag of an error stands before the line of the claim.
await 'a diagnostic arrives' '^[^ ]* *claim R1, R2 in series'
for _ in $(seq 100); do
    kak_do 'echo -to-file '"$home"'/count %opt{lsp_diagnostic_error_count}'
    [ "$(cat "$home/count" 2>/dev/null)" = 1 ] && break
    sleep 0.2
done
# Colors come from the lists of words: statement words and kinds are not in the color of plain text.
tm capture-pane -e -p | grep -q "$(printf '\033\\[[0-9;]*m')circuit" || fail 'statement words are colored'
tm capture-pane -e -p | grep -q "$(printf '\033\\[[0-9;]*m')resistor" || fail 'kinds are colored'
echo 'ok: words are colored'
[ "$(cat "$home/count")" = 1 ] || fail 'there is one error'
echo 'ok: there is one error'
shot diagnostic

kak_do 'select 4.10,4.11; lsp-hover'
# Values stand beside the text, too; this line is in the hover alone.
await 'hover shows the current through R1' 'current through .*300 mA'
shot hover
keys Escape

kak_do 'select 7.35,7.36; lsp-code-actions'
sleep 1
shot fixes
screen | grep -q 'Write' || fail 'the long wire has a fix'
echo 'ok: the long wire has a fix'
# A menu is narrowed down by typing.
keys 'Write'
sleep 1
keys Enter
saved 'the fix changes the text' '@join -- B1-'

keys Escape 'ge' 'o' 'claim R2, R3 in par'
await '`parallel` is offered' 'parallel'
shot completion
keys C-n
sleep 0.5
keys Escape
saved 'a completion is accepted' 'claim R2, R3 in parallel'

kak_do 'select 6.10,6.11; lsp-rename Lantern'
saved 'a rename reaches the path' '@fork -- Lantern -- @join'

keys Escape 'ge' 'o' 'resistor   R9=3ohm' Escape
await 'a line is typed' 'R9=3ohm'
kak_do 'lsp-formatting-sync'
saved 'formatting writes the canonical spelling' '^resistor R9 *= 3 ohm$'
grep -q '^battery  *B1 = 4.5 V$' "$file" || fail 'formatting keeps the other lines'
shot formatted

# Every safe fix, as the file is written.
kak_do 'hook global BufWritePre .*winch\.ohmline ohmline-fix-all'
printf 'battery B1 = 4,5 V\nresistor R1 = 9 ohm\nlamp L1 = 3 ohm\nB1+ --- R1 -- B1-\n' > "$home/winch.ohmline"
pier=$file
file=$home/winch.ohmline
kak_do 'write; edit '"$file"
await 'a file with slips opens' '4,5'
sleep 2
saved 'saving mends a comma' '^battery B1 = 4.5 V$'
saved 'and a wire' '^B1+ -- R1 -- B1-$'

# Settings that are written outside of the editor.
warned() { kak_do 'echo -to-file '"$home"'/warned %opt{lsp_diagnostic_warning_count}'; sleep 0.2; [ "$(cat "$home/warned" 2>/dev/null)" = "$1" ]; }
until_warned() {
    for _ in $(seq 100); do
        if warned "$2"; then echo "ok: $1"; return 0; fi
    done
    fail "$1"
}
until_warned 'a lamp that is never placed is found' 1
printf '[levels]\nnever-placed = "off"\n' > "$home/ohmline.toml"
until_warned 'settings written outside of the editor count' 0
printf '[levels]\nnever-plced = "off"\n' > "$home/ohmline.toml"
kak_do 'edit '"$home"'/ohmline.toml'
await 'what is wrong in an open ohmline.toml has its flag' '^[^ ]never-plced'
shot settings
kak_do 'delete-buffer'
rm "$home/ohmline.toml"
file=$pier
kak_do 'edit '"$file"

# A circuit between fences.
cat > "$home/notes.md" <<'END'
# Notes 🚢

> ```ohmline
> battery B1 = 4.5 V
> resistor R1 = 9 Ω
> B1+ -- R1 -- B1-
> claim voltage across R1 = 1 V
> ```
END
kak_do 'write; edit '"$home"'/notes.md'
await 'Markdown opens' 'Notes'
for _ in $(seq 100); do
    kak_do 'echo -to-file '"$home"'/count %opt{lsp_diagnostic_error_count}'
    [ "$(cat "$home/count" 2>/dev/null)" = 1 ] && break
    sleep 0.2
done
[ "$(cat "$home/count")" = 1 ] || fail 'a wrong claim between fences is found'
echo 'ok: a wrong claim between fences is found'
kak_do 'select 5.12,5.13; lsp-hover'
await 'hover between fences shows the current' 'current through .*500 mA'
shot markdown
keys Escape
kak_do 'select 7.1,7.1'
# The editor itself goes on with the quote.
keys 'o' 'find current thr'
await '`through` is offered between fences' 'through'
keys Escape

kak_do 'buffer *debug*'
sleep 0.5
if screen | grep -q 'error running hook'; then fail 'no hook fails'; fi
echo 'ok: no hook fails'
kak_do 'buffer '"$file"'; write; quit!'
for _ in $(seq 50); do
    tm has-session 2>/dev/null || break
    sleep 0.2
done
if tm has-session 2>/dev/null; then fail 'the session ends'; fi
echo 'ok: the session ends'
