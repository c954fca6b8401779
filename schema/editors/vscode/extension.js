// Starts `wayledger language-server`, and takes the `.kdl` files of ledgers for the language `wayledger`.
"use strict";

const { execFile } = require("child_process");
const vscode = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

// Whether a ledger's own file lies in a folder or in one above it, up to the folder of the workspace.
async function inLedger(uri) {
  const top = vscode.workspace.getWorkspaceFolder(uri);
  for (let folder = vscode.Uri.joinPath(uri, ".."); ; folder = vscode.Uri.joinPath(folder, "..")) {
    for (const name of ["machine.kdl", "shop.kdl"]) {
      try {
        await vscode.workspace.fs.stat(vscode.Uri.joinPath(folder, name));
        return true;
      } catch {
        // It is not there.
      }
    }
    if (!top || folder.path.length <= top.uri.path.length) return false;
  }
}

async function take(document) {
  const isKdl = document.uri.scheme === "file" && document.uri.path.endsWith(".kdl");
  if (isKdl && document.languageId !== "wayledger" && (await inLedger(document.uri))) {
    await vscode.languages.setTextDocumentLanguage(document, "wayledger");
  }
}

// The page of a rule, to which the code of a finding leads.
function page(program, rule) {
  if (!/^[a-z0-9-]+$/.test(rule)) return "There is no such rule.";
  return new Promise((done) => {
    execFile(program, ["rules", rule], (error, out) => done(error ? error.message : out));
  });
}

async function activate(context) {
  const settings = () => vscode.workspace.getConfiguration("wayledger");
  const pages = { provideTextDocumentContent: (uri) => page(settings().get("path"), uri.path) };
  context.subscriptions.push(vscode.workspace.registerTextDocumentContentProvider("wayledger-rule", pages));
  const server = { command: settings().get("path"), args: ["language-server"] };
  client = new LanguageClient("wayledger", "wayledger", server, {
    documentSelector: [{ scheme: "file", language: "wayledger" }],
    initializationOptions: { inlayHints: settings().get("inlayHints") },
    synchronize: { configurationSection: "wayledger" },
  });
  context.subscriptions.push(vscode.workspace.onDidOpenTextDocument(take));
  await Promise.all(vscode.workspace.textDocuments.map(take));
  await client.start();
}

function deactivate() {
  return client && client.stop();
}

module.exports = { activate, deactivate };
