"""A whole session with the server through a protocol client of another make: pytest-lsp, whose types and checks are those of
lsprotocol. Started by `.ci/editors` in a copy of the boatyard."""

import pathlib

import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

FILE = pathlib.Path("mast-router/2026-10-26-fitter-3.kdl")


@pytest_lsp.fixture(
    config=ClientServerConfig(server_command=["wayledger", "language-server", "--today", "2026-11-01"]),
    params=["visual_studio_code", "neovim", "emacs"],
)
async def client(request, lsp_client: LanguageClient):
    registered = []

    @lsp_client.feature(types.CLIENT_REGISTER_CAPABILITY)
    def register(params: types.RegistrationParams):
        registered.extend(it.method for it in params.registrations)

    capabilities = client_capabilities(request.param)
    greeting = types.InitializeParams(capabilities=capabilities, root_uri=pathlib.Path.cwd().as_uri())
    await lsp_client.initialize_session(greeting)
    yield
    watched = capabilities.workspace.did_change_watched_files
    assert bool(registered) == bool(watched and watched.dynamic_registration), registered
    await lsp_client.shutdown_session()


async def findings(client: LanguageClient, uri: str):
    """What the client gets in the way that it said it understands."""
    if client.capabilities.text_document.diagnostic:
        asked = types.DocumentDiagnosticParams(text_document=types.TextDocumentIdentifier(uri))
        return (await client.text_document_diagnostic_async(asked)).items
    await client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    return client.diagnostics[uri]


async def test_a_fitter_s_file(client: LanguageClient):
    uri, text = FILE.resolve().as_uri(), FILE.read_text()
    wrong = text.replace("10.4 10.5", "14.4 10.5")
    assert wrong != text
    document = types.TextDocumentItem(uri=uri, language_id="kdl", version=1, text=wrong)
    client.text_document_did_open(types.DidOpenTextDocumentParams(document))
    row = next(number for number, line in enumerate(wrong.splitlines()) if "14.4" in line)
    told = [it for it in await findings(client, uri) if it.range.start.line == row]
    assert any("14.4" in it.message and it.code == "torque-window" for it in told), told

    same = types.TextDocumentIdentifier(uri)
    on_wrench = types.Position(line=row - 1, character=wrong.splitlines()[row - 1].index("TW-2") + 1)
    hover = await client.text_document_hover_async(types.HoverParams(same, on_wrench))
    assert "TW-2" in str(hover.contents)

    definition = await client.text_document_definition_async(types.DefinitionParams(same, on_wrench))
    assert "shop.kdl" in str(definition)

    changed = wrong.replace("14.4 10.5 #null #null", "10.4 10.5 #null #null\n       at ")
    whole = types.TextDocumentContentChangeWholeDocument(text=changed)
    version = types.VersionedTextDocumentIdentifier(uri=uri, version=2)
    client.text_document_did_change(types.DidChangeTextDocumentParams(version, [whole]))
    at = types.Position(line=row + 1, character=10)
    offered = await client.text_document_completion_async(types.CompletionParams(same, at))
    items = offered.items if isinstance(offered, types.CompletionList) else offered
    assert items and "outstanding" in (items[0].detail or ""), items[:3]

    symbols = await client.text_document_document_symbol_async(types.DocumentSymbolParams(same))
    assert len(symbols) == 2, symbols
    options = types.FormattingOptions(tab_size=4, insert_spaces=True)
    edits = await client.text_document_formatting_async(types.DocumentFormattingParams(same, options))
    assert edits and "    at" in "".join(edit.new_text for edit in edits), edits
    client.text_document_did_close(types.DidCloseTextDocumentParams(same))
    assert FILE.read_text() == text, "a server writes no file"
