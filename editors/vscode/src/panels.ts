// Panels beside the text: the worked solution, the drawing, the preview. Each follows the text as it is typed.

import { randomBytes } from 'node:crypto';
import * as path from 'node:path';
import * as vscode from 'vscode';
import { commandPage, drawingPage, escape, messagePage } from './page';
import { run, type Output } from './render';

export type View = 'solution' | 'drawing' | 'preview';

const TITLES: Record<View, string> = { solution: 'Solution', drawing: 'Drawing', preview: 'Preview' };

/** Where a circuit of a Markdown document stands: its number, or a line at it; both from 0. */
export type Place = { block: number } | { line: number };

/** A circuit of a Markdown document. */
export interface Circuit {
  text: string;
  block: number;
}

/** Reads a circuit of a Markdown document; fails with a sentence where there is none. */
export type Reader = (uri: vscode.Uri, place: Place) => Promise<Circuit>;

/** Quiet time after a keystroke. */
const PAUSE = 250;

/** Finds the program; nothing when it is not there. */
export type Finder = () => Promise<string | undefined>;

export class Panels implements vscode.Disposable {
  private readonly open = new Map<string, Panel>();
  private readonly listeners: vscode.Disposable[];

  constructor(
    private readonly find: Finder,
    private readonly read: Reader,
  ) {
    this.listeners = [
      vscode.workspace.onDidChangeTextDocument((event) => this.of(event.document.uri, (panel) => panel.later())),
      vscode.window.onDidChangeActiveColorTheme(() => this.open.forEach((panel) => panel.later())),
      vscode.workspace.onDidCloseTextDocument((document) => {
        if (document.languageId === 'ohmline' || document.languageId === 'markdown') {
          this.of(document.uri, (panel) => panel.dispose());
        }
      }),
    ];
  }

  /** Opens a view of the document in the active editor, or brings it to the front. */
  async show(view: View, uri?: vscode.Uri, place: Place = { line: 0 }): Promise<void> {
    const document = uri
      ? await vscode.workspace.openTextDocument(uri)
      : vscode.window.activeTextEditor?.document;
    if (document === undefined || !['ohmline', 'markdown'].includes(document.languageId)) {
      void vscode.window.showInformationMessage('Open an Ohmline file, or a Markdown document with a circuit, first.');
      return;
    }
    let text = async () => document.getText();
    let block: number | undefined;
    if (document.languageId === 'markdown') {
      try {
        const own = (await this.read(document.uri, place)).block;
        text = async () => (await this.read(document.uri, { block: own })).text;
        block = own;
      } catch (problem) {
        void vscode.window.showInformationMessage(problem instanceof Error ? problem.message : String(problem));
        return;
      }
    }
    const key = `${view} ${block ?? ''} ${document.uri.toString()}`;
    let panel = this.open.get(key);
    if (panel === undefined) {
      panel = new Panel(view, document, block, text, this.find, () => this.open.delete(key));
      this.open.set(key, panel);
    } else {
      panel.reveal();
    }
    await panel.now();
  }

  private of(uri: vscode.Uri, act: (panel: Panel) => void): void {
    const end = ` ${uri.toString()}`;
    for (const [key, panel] of [...this.open]) {
      if (key.endsWith(end)) {
        act(panel);
      }
    }
  }

  dispose(): void {
    this.listeners.forEach((listener) => listener.dispose());
    [...this.open.values()].forEach((panel) => panel.dispose());
  }
}

class Panel {
  private readonly panel: vscode.WebviewPanel;
  private timer: NodeJS.Timeout | undefined;
  private running = new AbortController();
  private gone = false;
  /** Whether the page that is shown can take over its next version, and in which colors it is. */
  private follows: 'light' | 'dark' | undefined;
  private shown = '';
  private readonly nonce = randomBytes(18).toString('base64url');

  constructor(
    private readonly view: View,
    private readonly document: vscode.TextDocument,
    block: number | undefined,
    /** The circuit as it stands in the editor now. */
    private readonly text: () => Promise<string>,
    private readonly find: Finder,
    closed: () => void,
  ) {
    const name = path.basename(document.uri.fsPath) || 'circuit';
    this.panel = vscode.window.createWebviewPanel(
      `ohmline.${view}`,
      `${TITLES[view]}: ${name}${block === undefined ? '' : `, circuit ${block + 1}`}`,
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      // No file is theirs to read. In the preview, the script that steps through the solution runs, and by the policy of the page
      // no other.
      { enableScripts: view === 'preview', localResourceRoots: [], enableFindWidget: true, retainContextWhenHidden: view === 'preview' },
    );
    this.panel.webview.onDidReceiveMessage((message: unknown) => {
      if (message === 'ready') {
        this.follows = isDark() ? 'dark' : 'light';
        // What came while it was loading.
        this.later();
      }
    });
    this.panel.onDidDispose(() => {
      this.gone = true;
      clearTimeout(this.timer);
      this.running.abort();
      closed();
    });
  }

  reveal(): void {
    this.panel.reveal(undefined, true);
  }

  dispose(): void {
    this.panel.dispose();
  }

  /** Shows the text anew after a pause. */
  later(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.now(), PAUSE);
  }

  async now(): Promise<void> {
    clearTimeout(this.timer);
    this.running.abort();
    const cancel = new AbortController();
    this.running = cancel;
    let html: string;
    try {
      html = await this.page(cancel.signal);
    } catch (problem) {
      html = messagePage(TITLES[this.view], `The page could not be made: ${problem instanceof Error ? problem.message : String(problem)}`);
    }
    if (cancel.signal.aborted || this.gone || html === this.shown) {
      return;
    }
    this.shown = html;
    if (this.view === 'preview' && this.follows === (isDark() ? 'dark' : 'light') && html.includes('ohmlinePage')) {
      await this.panel.webview.postMessage({ html });
    } else {
      this.follows = undefined;
      this.panel.webview.html = html;
    }
  }

  private async page(cancel: AbortSignal): Promise<string> {
    const title = TITLES[this.view];
    const program = await this.find();
    if (program === undefined) {
      return messagePage(title, 'The command `ohmline` was not found. The setting "ohmline.server.path" can say where it is.');
    }
    const local = this.document.uri.scheme === 'file';
    const folder = local ? path.dirname(this.document.uri.fsPath) : (vscode.workspace.workspaceFolders?.[0]?.uri.fsPath ?? process.cwd());
    const text = await this.text();
    const dark = isDark();
    if (this.view === 'drawing') {
      const output = await run(program, ['draw', '-', '--theme', dark ? 'dark' : 'light'], folder, text, cancel);
      return output.out === '' ? messagePage(title, reason(output)) : drawingPage(title, output.out, firstLine(output.error));
    }
    const output = await run(program, ['solution', '-', '--format', 'html'], folder, text, cancel);
    const manner = this.view === 'preview' ? { dark, nonce: this.nonce } : { dark };
    // The command reads the text from its standard input, and calls a circuit without a title by that.
    const page = output.out.replaceAll('&lt;stdin&gt;', escape(path.basename(this.document.uri.fsPath)));
    return output.out === '' ? messagePage(title, reason(output)) : commandPage(page, manner);
  }
}

function isDark(): boolean {
  const { kind } = vscode.window.activeColorTheme;
  return kind === vscode.ColorThemeKind.Dark || kind === vscode.ColorThemeKind.HighContrast;
}

function reason(output: Output): string {
  return output.error.trim() === '' ? `The command ended with ${output.status} and printed nothing.` : output.error.trim();
}

/** What the command said first, without the marks of a terminal: `error: R9 is not declared [unknown-name]`. */
function firstLine(text: string): string {
  const line = text.trim().split('\n')[0] ?? '';
  return line.replace(/^(error|warning): /, 'In the text: ').replace(/ \[[a-z-]+\]$/, '');
}
