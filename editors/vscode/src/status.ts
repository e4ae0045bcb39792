// What the server is doing, in the status bar of Ohmline files.

import * as vscode from 'vscode';
import type { Found } from './find';

const BY: Record<Found['by'], string> = {
  setting: 'found by the setting ohmline.server.path',
  bundle: 'the one that comes with the extension',
  path: 'found on the path',
};

export class Status implements vscode.Disposable {
  private readonly item = vscode.languages.createLanguageStatusItem('ohmline.server', { language: 'ohmline' });

  constructor() {
    this.item.name = 'Ohmline server';
  }

  starting(): void {
    this.set('Ohmline', 'starting', vscode.LanguageStatusSeverity.Information, true);
    this.item.command = { command: 'ohmline.showLog', title: 'Show the log' };
  }

  ready(version: string | undefined, found: Found): void {
    this.set(`Ohmline ${version ?? ''}`.trim(), `${found.program}, ${BY[found.by]}`, vscode.LanguageStatusSeverity.Information);
    this.item.command = { command: 'ohmline.restart', title: 'Restart' };
  }

  stopped(): void {
    this.set('Ohmline: stopped', 'circuits are not checked', vscode.LanguageStatusSeverity.Error);
    this.item.command = { command: 'ohmline.restart', title: 'Restart' };
  }

  missing(): void {
    this.set('Ohmline: no server', 'the command was not found', vscode.LanguageStatusSeverity.Warning);
    this.item.command = {
      command: 'workbench.action.openSettings',
      title: 'Open the setting',
      arguments: ['ohmline.server.path'],
    };
  }

  private set(text: string, detail: string, severity: vscode.LanguageStatusSeverity, busy = false): void {
    this.item.text = text;
    this.item.detail = detail;
    this.item.severity = severity;
    this.item.busy = busy;
  }

  dispose(): void {
    this.item.dispose();
  }
}
