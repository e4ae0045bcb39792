// Drives the real editor (its build for browsers) in a headless browser: opens a sample, and fails unless squiggle, hover, completion,
// quick fix, rename, formatting and the panels work. Pictures are written as it goes.
//
//   node tests/editors/vscode.mjs CODE-SERVER-FOLDER EXTENSION.vsix OHMLINE PICTURES-FOLDER

import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';

const [tools, vsix, server, pictures] = process.argv.slice(2).map((word) => path.resolve(word));
const require = createRequire(path.join(tools, 'package.json'));
const { chromium } = require('playwright-core');

const home = fs.mkdtempSync(path.join(os.tmpdir(), 'ohmline-code-'));
const work = path.join(home, 'harbour');
fs.mkdirSync(work);
fs.mkdirSync(pictures, { recursive: true });
const user = path.join(home, 'user');
const extensions = path.join(home, 'extensions');
fs.mkdirSync(path.join(user, 'User'), { recursive: true });
const settings = {
  'ohmline.server.path': server,
  'workbench.startupEditor': 'none',
  'workbench.colorTheme': 'Default Dark Modern',
  'editor.minimap.enabled': false,
  'security.workspace.trust.enabled': false,
  'extensions.ignoreRecommendations': true,
  'workbench.tips.enabled': false,
  'files.autoSave': 'off',
  // What is written into the settings of the workspace stays as it is written.
  'editor.autoSurround': 'never',
  '[jsonc]': { 'editor.autoClosingBrackets': 'never', 'editor.autoClosingQuotes': 'never', 'editor.quickSuggestions': 'off' },
};
fs.writeFileSync(path.join(user, 'User/settings.json'), JSON.stringify(settings));
// A workspace that points the server at another program is not followed.
fs.mkdirSync(path.join(work, '.vscode'));
fs.writeFileSync(path.join(work, '.vscode/settings.json'), JSON.stringify({ 'ohmline.server.path': '/bin/false' }));
fs.writeFileSync(
  path.join(work, 'pier.ohmline'),
  `## Pier lamps of the model harbour 🚢, fed by one flat battery.
circuit "Pier lamps"

battery  B1 = 4.5 V
resistor R1 = 9 Ω
lamp     L1 = 10 ohm
lamp     L2 = 15 ohm
switch   S1 = closed

B1+ -- S1 -- R1 -- @fork -- L1 -- @join --- B1-
@fork -- L2 -- @join

claim R1, L1 in series
find  current through R1, L1, L2
`,
);

fs.writeFileSync(
  path.join(work, 'notes.md'),
  `# Notes 🚢

> \`\`\`ohmline
> battery B1 = 4.5 V
> resistor R1 = 9 Ω
> B1+ -- R1 -- B1-
> claim current through R1 = 1 A
> \`\`\`
`,
);

fs.writeFileSync(path.join(work, 'plain.md'), '# Plain\n\nNothing to be drawn.\n');

const launcher = path.join(tools, 'node_modules/code-server');
const folders = ['--user-data-dir', user, '--extensions-dir', extensions];
const environment = { ...process.env, HOME: home };
const installed = spawnSync(process.execPath, [launcher, ...folders, '--install-extension', vsix], { env: environment, encoding: 'utf8' });
if (installed.status !== 0) {
  throw new Error(`the extension cannot be installed:\n${installed.stdout}${installed.stderr}`);
}

const port = await new Promise((resolve) => {
  const probe = net.createServer().listen(0, '127.0.0.1', () => {
    const { port } = probe.address();
    probe.close(() => resolve(port));
  });
});
const code = spawn(
  process.execPath,
  [launcher, '--auth', 'none', '--bind-addr', `127.0.0.1:${port}`, ...folders, '--disable-telemetry', '--disable-update-check', '--disable-workspace-trust', work],
  { env: environment, stdio: ['ignore', 'pipe', 'pipe'] },
);
let said = '';
await new Promise((resolve, reject) => {
  const listen = (piece) => {
    said += piece;
    if (said.includes('listening on')) resolve();
  };
  code.stdout.on('data', listen);
  code.stderr.on('data', listen);
  code.on('exit', () => reject(new Error(`the editor ended:\n${said}`)));
});

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
const page = await browser.newPage({ viewport: { width: 1440, height: 860 } });
page.setDefaultTimeout(30_000);
/** What the preview shows at least. */
const PREVIEW = 'The way back';
let number = 0;
let failed;

async function picture(name) {
  number += 1;
  await page.screenshot({ path: path.join(pictures, `${String(number).padStart(2, '0')}-${name}.png`) });
}

function ok(what) {
  console.log(`ok: ${what}`);
}

async function press(...keys) {
  for (const key of keys) {
    await page.keyboard.press(key);
  }
}

async function command(title) {
  const input = page.locator('.quick-input-widget input');
  // A panel that takes the focus just then closes the list of commands.
  for (let tries = 1; ; tries += 1) {
    await press('F1');
    try {
      await input.waitFor({ timeout: 5_000 });
      await input.fill(`>${title}`, { timeout: 5_000 });
      break;
    } catch (problem) {
      if (tries === 5) throw problem;
    }
  }
  await page.locator('.quick-input-list .monaco-list-row', { hasText: title.replace(/^Ohmline: /, '') }).first().waitFor();
  await press('Enter');
}

async function goTo(line, column) {
  const input = page.locator('.quick-input-widget input');
  // A panel that is still loading may take the focus, and the field is gone again.
  for (let tries = 1; ; tries += 1) {
    await press('Control+g');
    try {
      await input.waitFor({ timeout: 3000 });
      await input.fill(`:${line}:${column}`, { timeout: 3000 });
      break;
    } catch (problem) {
      if (tries === 5) throw problem;
    }
  }
  await press('Enter');
  await page.locator('.quick-input-widget').waitFor({ state: 'hidden' });
}

async function openFile(name) {
  await press('Control+p');
  const input = page.locator('.quick-input-widget input');
  await input.waitFor();
  await input.fill(name);
  await page.locator('.quick-input-list .monaco-list-row.focused', { hasText: name }).waitFor();
  await press('Enter');
  await page.locator('.tab.active', { hasText: name }).waitFor();
}

/** Writes the settings of the workspace, and comes back. */
async function workspaceSettings(settings) {
  await openFile('settings.json');
  await page.locator('.view-line', { hasText: 'ohmline' }).first().click();
  await press('Control+a');
  await page.keyboard.insertText(JSON.stringify(settings));
  await press('Control+s');
  await page.locator('.tab.dirty').waitFor({ state: 'detached' });
  await openFile('pier.ohmline');
}

/** The text of the file on the disk, once saved. */
async function saved() {
  await press('Control+s');
  await page.locator('.tab.dirty').waitFor({ state: 'detached' });
  return fs.readFileSync(path.join(work, 'pier.ohmline'), 'utf8');
}

/** Waits until a panel shows some text, or a picture that is described by it. */
async function shown(text) {
  for (let tries = 0; tries < 150; tries += 1) {
    for (const frame of page.frames()) {
      const there = await frame
        .evaluate(
          (text) => document.body?.innerText.replace(/[\u00a0\u202f]/g, ' ').includes(text) || [...document.images].some((image) => image.alt.includes(text)),
          text,
        )
        .catch(() => false);
      if (there && frame !== page.mainFrame()) {
        await page.waitForTimeout(300);
        return;
      }
    }
    await page.waitForTimeout(200);
  }
  throw new Error(`no panel shows ${JSON.stringify(text)}`);
}

const lineWith = (text) => page.locator('.view-line', { hasText: text }).first();

async function session() {
  await page.goto(`http://127.0.0.1:${port}/?folder=${encodeURIComponent(work)}`);
  await page.locator('.monaco-workbench').waitFor();
  await openFile('pier.ohmline');
  await page.locator('.view-line', { hasText: 'circuit "Pier lamps"' }).waitFor();
  ok('a sample opens');

  await page.locator('.squiggly-error').first().waitFor();
  await page.waitForTimeout(300);
  await picture('squiggle');
  ok('the wrong claim has a squiggle, so the server of the user ran and not the one that the workspace names');

  // Settings are live. They are written in the editor, which sees no change of files from outside here.
  const declared = page.locator('.view-line', { hasText: '4.5' }).first();
  await declared.filter({ hasText: '300' }).waitFor();
  await workspaceSettings({ 'ohmline.hints.enabled': false });
  await declared.filter({ hasNotText: '300' }).waitFor();
  await workspaceSettings({ 'ohmline.hints.enabled': true });
  await declared.filter({ hasText: '300' }).waitFor();
  ok('values beside the text go and come with their setting');

  // What is solved shows when the pointer rests.
  await goTo(5, 11);
  await press('Control+k', 'Control+i');
  const hover = page.locator('.monaco-hover:visible');
  await hover.filter({ hasText: '300' }).waitFor();
  await page.waitForTimeout(300);
  await picture('hover');
  ok(`hover shows solved values: ${(await hover.first().innerText()).split('\n').join(' | ').slice(0, 160)}`);
  await press('Escape');

  await goTo(8, 21);
  await press('Enter');
  await page.keyboard.type('resi');
  await page.locator('.suggest-widget.visible .monaco-list-row', { hasText: 'resistor' }).first().waitFor();
  await page.waitForTimeout(300);
  await picture('completion');
  await press('Enter');
  await page.waitForTimeout(300);
  const text = await page.locator('.view-lines').innerText();
  if (!/resistor/.test(text.replaceAll('\u00a0', ' ').split('\n').find((line) => /resistor(?!\s+R1\b)/.test(line)) ?? '')) {
    throw new Error(`no completion was accepted:\n${text}`);
  }
  ok('a completion is accepted');
  await press('Escape', 'Escape', 'Control+z', 'Control+z', 'Control+z', 'Control+z', 'Control+z', 'Control+z');
  await command('File: Revert File');
  await page.locator('.tab.dirty').waitFor({ state: 'detached' });

  // A long wire has a fix.
  await goTo(10, 42);
  await press('Control+.');
  await page.locator('.action-widget .monaco-list-row', { hasText: 'Write' }).first().waitFor();
  await picture('fixes');
  await press('Enter');
  await page.waitForTimeout(500);
  if (!(await saved()).includes('@join -- B1-')) {
    throw new Error('the fix did not change the text');
  }
  ok('a quick fix is applied');

  await goTo(7, 11);
  await press('F2');
  const box = page.locator('.rename-box input, .rename-input').first();
  await box.waitFor();
  await box.fill('Lantern');
  await picture('rename');
  await press('Enter');
  await lineWith('@fork -- Lantern -- @join').waitFor();
  const renamed = await saved();
  if (!renamed.includes('lamp     Lantern') || !renamed.includes('find  current through R1, L1, Lantern')) {
    throw new Error(`the rename is not whole:\n${renamed}`);
  }
  ok('a rename reaches every place');

  await goTo(8, 21);
  await press('Enter');
  await page.keyboard.type('resistor   R9=3ohm');
  await command('Format Document');
  await lineWith('resistor R9 = 3 ohm').waitFor();
  await picture('formatted');
  if (!(await saved()).includes('switch   S1 = closed\nresistor R9 = 3 ohm\n\nB1+ -- S1')) {
    throw new Error('formatting changed more than the spelling');
  }
  ok('formatting writes the canonical spelling');

  await command('Ohmline: Open the drawing');
  await page.locator('.tab', { hasText: 'Drawing: pier.ohmline' }).waitFor();
  const frame = page.frameLocator('iframe.webview.ready').frameLocator('#active-frame');
  const drawing = frame.locator('img');
  await drawing.waitFor();
  if (!(await drawing.evaluate((image) => image.complete && image.naturalWidth > 50))) {
    throw new Error('the drawing is empty');
  }
  await page.waitForTimeout(300);
  await picture('drawing');
  ok(`the drawing opens beside the text: ${(await drawing.getAttribute('alt')).slice(0, 80)}`);
  const before = await drawing.getAttribute('src');
  await page.locator('.view-line', { hasText: 'resistor R1' }).first().click();
  await press('End');
  await page.keyboard.type('k');
  await press('Control+z');
  await goTo(6, 14);
  await page.keyboard.type('9');
  for (let tries = 0; (await drawing.getAttribute('src')) === before; tries += 1) {
    if (tries > 100) throw new Error('the drawing does not follow the text');
    await page.waitForTimeout(100);
  }
  ok('the drawing follows text that is not saved');
  await press('Control+z');

  await command('Ohmline: Open the worked solution');
  await page.locator('.tab', { hasText: 'Solution: pier.ohmline' }).waitFor();
  await shown('current through R1');
  await picture('solution');
  ok('the worked solution opens');

  await page.locator('.tab', { hasText: /^pier\.ohmline/ }).first().click();
  await command('Ohmline: Open the preview beside the text');
  await page.locator('.tab', { hasText: 'Preview: pier.ohmline' }).waitFor();
  await shown(PREVIEW);
  await picture('preview');
  const stepped = async () => {
    for (const frame of page.frames()) {
      const here = await frame.evaluate(() => document.getElementById('where')?.textContent || undefined).catch(() => undefined);
      if (here !== undefined) return here;
    }
    return undefined;
  };
  const first = await stepped();
  for (const frame of page.frames()) {
    await frame.evaluate(() => document.getElementById('on')?.click()).catch(() => {});
  }
  if (first === undefined || (await stepped()) === first) {
    throw new Error('the script of the preview does not step');
  }
  await picture('preview-step');
  ok('the preview opens and steps through the solution');

  // The page takes over what is typed and stays at its step.
  const step = await stepped();
  await goTo(5, 15);
  await page.keyboard.type('1');
  await shown('R1 = 19 Ω');
  if ((await stepped()) !== step) {
    throw new Error(`the preview went from ${step} to ${await stepped()}`);
  }
  await picture('preview-typed');
  await press('Control+z');
  ok('the preview follows the text and keeps its place');

  // Circuits between the fences of Markdown.
  await command('View: Close All Editors');
  await openFile('notes.md');
  await page.locator('.squiggly-error').first().waitFor();
  await goTo(5, 12);
  await press('Control+k', 'Control+i');
  await page.locator('.monaco-hover:visible').filter({ hasText: '500' }).waitFor();
  await page.waitForTimeout(300);
  await picture('markdown');
  await press('Escape');
  await goTo(7, 40);
  await press('Enter');
  // A word that stands nowhere in the document yet, which the editor would offer by itself.
  await page.keyboard.type('> find voltage acr');
  await press('Control+Space');
  await page.locator('.suggest-widget.visible .monaco-list-row', { hasText: 'across' }).first().waitFor();
  await picture('markdown-completion');
  await press('Enter', 'Escape');
  await lineWith('> find voltage across').waitFor();
  await command('File: Revert File');
  await page.locator('.tab.dirty').waitFor({ state: 'detached' });
  ok('circuits in Markdown are checked, hovered and completed');

  await goTo(5, 12);
  await command('Ohmline: Open the drawing');
  await page.locator('.tab', { hasText: 'Drawing: notes.md, circuit 1' }).waitFor();
  const quoted = page.frameLocator('iframe.webview.ready').frameLocator('#active-frame').locator('img');
  await quoted.waitFor();
  const drawn = await quoted.getAttribute('src');
  await picture('markdown-drawing');
  await page.locator('.tab', { hasText: /^notes\.md/ }).first().click();
  await goTo(5, 17);
  await page.keyboard.type('9');
  for (let tries = 0; (await quoted.getAttribute('src')) === drawn; tries += 1) {
    if (tries > 100) throw new Error('the drawing of a circuit in Markdown does not follow the text');
    await page.waitForTimeout(100);
  }
  await command('Ohmline: Open the preview beside the text');
  await page.locator('.tab', { hasText: 'Preview: notes.md, circuit 1' }).waitFor();
  await shown('R1 = 99 Ω');
  // A circuit without a title has the name of its document.
  await shown('notes.md');
  await page.locator('.tab', { hasText: /^notes\.md/ }).first().click();
  await goTo(5, 17);
  await page.keyboard.type('1');
  await shown('R1 = 199 Ω');
  await picture('markdown-preview');
  await page.locator('.tab', { hasText: /^notes\.md/ }).first().click();
  await command('Ohmline: Open the worked solution');
  await page.locator('.tab', { hasText: 'Solution: notes.md, circuit 1' }).waitFor();
  await picture('markdown-solution');
  await page.locator('.tab', { hasText: /^notes\.md/ }).first().click();
  await command('File: Revert File');
  await page.locator('.tab.dirty').waitFor({ state: 'detached' });
  ok('drawing, preview and solution of a circuit in Markdown open beside it and follow the text');

  // Where there is none, that is said.
  await command('View: Close All Editors');
  await openFile('plain.md');
  await command('Ohmline: Open the drawing');
  await page.locator('.notification-toast', { hasText: /no circuit|not running|nothing is known/i }).waitFor();
  ok('a Markdown document without a circuit says so');

  // Every safe fix with each save.
  await workspaceSettings({ 'ohmline.hints.enabled': true, '[ohmline]': { 'editor.codeActionsOnSave': { 'source.fixAll.ohmline': 'explicit' } } });
  await goTo(1, 1);
  await page.keyboard.type('resistor R7 = 4,7 ohm');
  await press('Enter', 'Escape');
  if (!(await saved()).startsWith('resistor R7 = 4.7 ohm')) {
    throw new Error(`saving did not mend: ${await saved()}`);
  }
  ok('saving applies every safe fix where the settings say so');

  await openFile('pier.ohmline');
  await command('Ohmline: Restart the server');
  await page.waitForTimeout(1500);
  await page.locator('.squiggly-error').first().waitFor();
  await command('Ohmline: Show the log of the server');
  await page.waitForTimeout(1200);
  await picture('log');
  ok('the server is restarted and the log shown');
}

try {
  await session();
} catch (problem) {
  failed = problem;
  await picture('failed').catch(() => {});
} finally {
  await browser.close();
  code.removeAllListeners('exit');
  code.kill();
  await new Promise((resolve) => code.once('exit', resolve));
  fs.rmSync(home, { recursive: true, force: true });
}
if (failed !== undefined) {
  console.error(failed);
  process.exit(1);
}
