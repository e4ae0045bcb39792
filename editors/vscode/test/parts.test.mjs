// The parts of the extension that need no editor.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { test } from 'node:test';
import { fileURLToPath, pathToFileURL } from 'node:url';
import esbuild from 'esbuild';

const folder = path.join(path.dirname(fileURLToPath(import.meta.url)), '..');
const temporary = fs.mkdtempSync(path.join(os.tmpdir(), 'ohmline-'));
process.on('exit', () => fs.rmSync(temporary, { recursive: true, force: true }));

async function load(name) {
  const outfile = path.join(temporary, `${name}.mjs`);
  await esbuild.build({ entryPoints: [path.join(folder, 'src', `${name}.ts`)], bundle: true, platform: 'node', format: 'esm', outfile });
  return import(pathToFileURL(outfile));
}

const { findServer } = await load('find');
const { commandPage, drawingPage, escape, messagePage } = await load('page');
const { run } = await load('render');
const { holdsCircuits } = await load('fence');

function program(...names) {
  const file = path.join(temporary, ...names);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  fs.writeFileSync(file, '#!/bin/sh\n', { mode: 0o755 });
  return file;
}

const places = (changes) => ({ setting: '', extension: path.join(temporary, 'empty'), path: '', windows: false, home: temporary, ...changes });

test('the setting comes first, then the bundle, then the path', async () => {
  const set = program('set', 'ohmline');
  const bundled = program('extension', 'server', 'ohmline');
  const onPath = program('bin', 'ohmline');
  const extension = path.join(temporary, 'extension');
  const search = `/nowhere:${path.dirname(onPath)}`;
  assert.deepEqual(await findServer(places({ setting: set, extension, path: search })), { program: set, by: 'setting' });
  assert.deepEqual(await findServer(places({ extension, path: search })), { program: bundled, by: 'bundle' });
  assert.deepEqual(await findServer(places({ path: search })), { program: onPath, by: 'path' });
  assert.equal(await findServer(places({ path: '/nowhere' })), undefined);
});

test('a setting that points nowhere starts no other program', async () => {
  const onPath = program('bin2', 'ohmline');
  assert.equal(await findServer(places({ setting: '/nowhere/ohmline', path: path.dirname(onPath) })), undefined);
});

test('the home folder may be written as ~, and a relative path is none', async () => {
  program('own', 'ohmline');
  assert.equal((await findServer(places({ setting: '~/own/ohmline' })))?.program, path.join(temporary, 'own/ohmline'));
  assert.equal(await findServer(places({ setting: 'own/ohmline' })), undefined);
  assert.equal(await findServer(places({ path: '.:own' })), undefined);
});

test('a file that is no program is passed over', async () => {
  const file = program('plain', 'ohmline');
  fs.chmodSync(file, 0o644);
  // Root may run anything that anyone may run; nobody may run this.
  assert.equal(await findServer(places({ path: path.dirname(file) })), undefined);
});

const policy = (html) => /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(html)?.[1] ?? '';

test('every page forbids scripts and everything from outside', () => {
  const pages = [
    drawingPage('Drawing', '<svg xmlns="http://www.w3.org/2000/svg"><desc>A lamp &amp; a wire</desc></svg>', ''),
    messagePage('Drawing', '<b>'),
    commandPage('<!doctype html>\n<html lang="en">\n<head>\n<title>x</title></head><body></body></html>', { dark: true }),
  ];
  for (const html of pages) {
    assert.match(policy(html), /^default-src 'none';/);
    assert.doesNotMatch(policy(html), /script-src|connect-src|https?:/);
  }
  // The policy comes before anything that it should hold for.
  assert.match(pages[2], /<head>\s*<meta http-equiv/);
  assert.match(pages[2], /<html data-theme="dark" lang="en">/);
});

test('of a page with several scripts, the last runs and no other', () => {
  const html = '<html><head></head><body><script>bad</script><p></p><script>good</script></body></html>';
  const shown = commandPage(html, { dark: false, nonce: 'n0nce' });
  assert.match(policy(shown), /; script-src 'nonce-n0nce'$/);
  assert.match(shown, /<script>bad<\/script><p><\/p><script nonce="n0nce">good<\/script>/);
  assert.doesNotMatch(commandPage(html, { dark: false }), /nonce|script-src/);
});

test('a page that steps can take over its next version, and only by a script that has leave', () => {
  const shown = commandPage('<html><head></head><body><script>step</script></body></html>', { dark: false, nonce: 'n0nce' });
  assert.equal(shown.match(/<script nonce="n0nce">/g).length, 2);
  assert.equal(shown.match(/<script/g).length, 2);
});

test('what is no page is shown as text', () => {
  assert.match(commandPage('<b>half', { dark: true }), /<pre>&#60;b&#62;half<\/pre>/);
});

test('a drawing is a picture with its description', () => {
  const html = drawingPage('Drawing', '<svg><desc>R1 &lt; R2 &amp; "so"</desc><script>x</script></svg>', 'a <note>');
  assert.match(html, /alt="R1 &#60; R2 &#38; &#34;so&#34;"/);
  assert.doesNotMatch(html, /<script|<note/);
});

test('text cannot leave its place', () => {
  assert.equal(escape(`<a href="x">'&`), '&#60;a href=&#34;x&#34;&#62;&#39;&#38;');
});

test('a command gets the text and gives what it prints', async () => {
  const output = await run('/bin/sh', ['-c', 'cat; echo said >&2; exit 3'], temporary, 'Ω text', new AbortController().signal);
  assert.deepEqual(output, { status: 3, out: 'Ω text', error: 'said\n' });
});

test('a command that is not there, or not wanted any more, is a rejection', async () => {
  await assert.rejects(run('/nowhere/ohmline', [], temporary, '', new AbortController().signal));
  const cancel = new AbortController();
  const waiting = run('/bin/sh', ['-c', 'exec sleep 20'], temporary, '', cancel.signal);
  cancel.abort();
  await assert.rejects(waiting);
});

test('a Markdown document with a circuit is known by its fence', () => {
  for (const text of ['# Pier\n\n```ohmline\nlamp L1\n```\n', '> ~~~~ ohmline\n', '1. ```ohmline {.wide}\n', '- ```OHMLINE\r\n']) {
    assert.ok(holdsCircuits(text), text);
  }
  for (const text of ['', '```sh\nohmline check\n```\n', 'Write ```ohmline``` so', '```ohmlines\n', '```text ohmline\n']) {
    assert.ok(!holdsCircuits(text), text);
  }
});
