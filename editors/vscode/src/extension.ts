// The extension: starts the language server, and opens what it makes of a circuit.

import * as os from 'node:os';
import * as vscode from 'vscode';
import { ExecuteCommandRequest, LanguageClient, State, type LanguageClientOptions, type ServerOptions } from 'vscode-languageclient/node';
import { holdsCircuits } from './fence';
import { findServer, type Found } from './find';
import { Panels, type Circuit, type Place, type View } from './panels';
import { Status } from './status';

/** Commands that the extension registers itself, so that each works from the palette and from a lens of the server alike. */
const OWN = ['ohmline.openSolution', 'ohmline.openDrawing', 'ohmline.openPreview', 'ohmline.readCircuit'];

/** The answer of a server that is asked about a text which has changed since (Language Server Protocol 3.17, ErrorCodes). */
const CONTENT_MODIFIED = -32801;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const session = new Session(context);
  context.subscriptions.push(session);
  await session.startWhenWanted();
}

export function deactivate(): void {}

class Session implements vscode.Disposable {
  private readonly log = vscode.window.createOutputChannel('Ohmline', { log: true });
  private readonly status = new Status();
  private readonly panels: Panels;
  private readonly parts: vscode.Disposable[];
  private client: LanguageClient | undefined;
  /** The setting by which the server was looked for. */
  private setting = '';
  /** Starts and stops follow each other, however fast they are asked for. */
  private turn: Promise<void> = Promise.resolve();

  constructor(private readonly context: vscode.ExtensionContext) {
    this.panels = new Panels(async () => (await this.find())?.program, (uri, place) => this.read(uri, place));
    const view = (name: View) => (argument?: unknown) => this.show(name, argument);
    this.parts = [
      this.log,
      this.status,
      this.panels,
      vscode.commands.registerCommand('ohmline.restart', () => this.restart()),
      vscode.commands.registerCommand('ohmline.showLog', () => this.log.show()),
      vscode.commands.registerCommand('ohmline.openSolution', view('solution')),
      vscode.commands.registerCommand('ohmline.openDrawing', view('drawing')),
      vscode.commands.registerCommand('ohmline.openPreview', view('preview')),
      vscode.workspace.onDidChangeConfiguration(() => {
        // A workspace may write the setting, which changes nothing; only what holds counts.
        if (serverPath() !== this.setting) {
          void this.restart();
        }
      }),
    ];
  }

  /** Starts the server once there is something for it to read; most Markdown documents hold no circuit. */
  async startWhenWanted(): Promise<void> {
    const wanted = (document: vscode.TextDocument) =>
      document.languageId === 'ohmline' || (document.languageId === 'markdown' && holdsCircuits(document.getText()));
    let begun = false;
    const waiting: vscode.Disposable[] = [];
    const look = async (document: vscode.TextDocument) => {
      if (!begun && wanted(document)) {
        begun = true;
        waiting.forEach((listener) => listener.dispose());
        await this.start();
      }
    };
    waiting.push(
      vscode.workspace.onDidOpenTextDocument(look),
      vscode.workspace.onDidChangeTextDocument(({ document }) => look(document)),
    );
    this.parts.push(...waiting);
    for (const document of vscode.workspace.textDocuments) {
      await look(document);
    }
  }

  /** Opens a view beside the text: in Markdown, of the circuit that a lens stands at, else of the one at the cursor. */
  private async show(view: View, argument: unknown): Promise<void> {
    const uri = uriOf(argument);
    const block = (argument as { block?: unknown } | null | undefined)?.block;
    const line = vscode.window.activeTextEditor?.selection.active.line ?? 0;
    return this.panels.show(view, uri, typeof block === 'number' ? { block } : { line });
  }

  /** The circuit at a place of a Markdown document, as the server sees it: without what a quote or a list puts before its lines. */
  private async read(uri: vscode.Uri, place: Place): Promise<Circuit> {
    for (let tries = 1; ; tries += 1) {
      try {
        if (this.client === undefined) {
          throw new Error('The server is not running.');
        }
        const wanted = { uri: uri.toString(), ...place };
        return await this.client.sendRequest(ExecuteCommandRequest.type, { command: 'ohmline.readCircuit', arguments: [wanted] });
      } catch (problem) {
        if ((problem as { code?: unknown }).code !== CONTENT_MODIFIED || tries > 5) {
          throw problem;
        }
      }
    }
  }

  start(): Promise<void> {
    this.turn = this.turn.then(() => this.begin());
    return this.turn;
  }

  restart(): Promise<void> {
    this.turn = this.turn.then(() => this.end()).then(() => this.begin());
    return this.turn;
  }

  private find(): Promise<Found | undefined> {
    return findServer({
      setting: serverPath(),
      extension: this.context.extensionPath,
      path: process.env.PATH ?? '',
      windows: process.platform === 'win32',
      home: os.homedir(),
    });
  }

  private async begin(): Promise<void> {
    if (this.client !== undefined) {
      return;
    }
    this.status.starting();
    this.setting = serverPath();
    const found = await this.find();
    if (found === undefined) {
      this.status.missing();
      this.log.warn('The command `ohmline` was not found: not by the setting, not in the extension, not on the path.');
      void this.offerSetting();
      return;
    }
    this.log.info(`Starting ${found.program} (found by ${found.by})`);
    const server: ServerOptions = { command: found.program, args: ['serve', '--stdio'] };
    const options: LanguageClientOptions = {
      // In Markdown, the blocks between fences marked `ohmline`; and the settings.
      documentSelector: [
        ...['ohmline', 'markdown'].flatMap((language) => [
          { language, scheme: 'file' },
          { language, scheme: 'untitled' },
        ]),
        { scheme: 'file', pattern: '**/ohmline.toml' },
      ],
      outputChannel: this.log,
      initializationOptions: { ohmline: { hints: vscode.workspace.getConfiguration('ohmline').get('hints') } },
      // The server asks for news of files itself.
      synchronize: { configurationSection: 'ohmline' },
      markdown: { isTrusted: false, supportHtml: false },
    };
    const client = new Client('ohmline', 'Ohmline', server, options);
    client.onDidChangeState(({ newState }) => {
      if (newState === State.Running) {
        this.status.ready(client.initializeResult?.serverInfo?.version, found);
      } else if (newState === State.Stopped) {
        this.status.stopped();
      }
    });
    this.client = client;
    try {
      await client.start();
    } catch (problem) {
      this.status.stopped();
      this.log.error(`The server did not start: ${problem instanceof Error ? problem.message : String(problem)}`);
      const log = 'Show the log';
      void vscode.window.showErrorMessage('The Ohmline server did not start.', log).then((chosen) => {
        if (chosen === log) {
          this.log.show();
        }
      });
    }
  }

  private async end(): Promise<void> {
    const client = this.client;
    this.client = undefined;
    if (client !== undefined) {
      try {
        await client.stop();
      } catch {
        // It is gone already.
      }
      await client.dispose();
    }
  }

  private async offerSetting(): Promise<void> {
    const open = 'Open the setting';
    const again = 'Try again';
    const chosen = await vscode.window.showWarningMessage(
      'The command `ohmline` was not found, so circuits are colored but not checked. Put it on the path, or say where it is.',
      open,
      again,
    );
    if (chosen === open) {
      await vscode.commands.executeCommand('workbench.action.openSettings', 'ohmline.server.path');
    } else if (chosen === again) {
      await this.restart();
    }
  }

  dispose(): void {
    void this.end();
    this.parts.forEach((part) => part.dispose());
  }
}

/** The client, leaving to the extension the commands that it registers itself. */
class Client extends LanguageClient {
  /** The library takes every end of the server for an error, also the one that was asked for. */
  override error(message: string, data?: unknown, showNotification?: boolean | 'force'): void {
    if (/^Server process exited with code 0\b/.test(message)) {
      this.info('The server has ended.', data, false);
    } else {
      super.error(message, data, showNotification);
    }
  }

  protected override fillInitializeParams(params: Parameters<LanguageClient['fillInitializeParams']>[0]): void {
    super.fillInitializeParams(params);
    const command = this.getFeature('workspace/executeCommand');
    const register = command.register.bind(command);
    command.register = (data) => {
      const commands = data.registerOptions.commands.filter((name) => !OWN.includes(name));
      register({ ...data, registerOptions: { ...data.registerOptions, commands } });
    };
  }
}

function serverPath(): string {
  return vscode.workspace.getConfiguration('ohmline').get<string>('server.path', '').trim();
}

/** The document that a lens of the server speaks of; from the palette there is none. */
function uriOf(argument: unknown): vscode.Uri | undefined {
  if (argument instanceof vscode.Uri) {
    return argument;
  }
  const text = typeof argument === 'string' ? argument : (argument as { uri?: unknown } | null | undefined)?.uri;
  return typeof text === 'string' ? vscode.Uri.parse(text) : undefined;
}
