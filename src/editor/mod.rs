//! The ledger in the editor: a language server (Language Server Protocol 3.17) over standard input and output. It listens
//! to no network, starts no program and writes no file: what is to be changed goes to the editor as an edit.
//!
//! A ledger is small enough to be judged whole at every change, so nothing is kept up to date by halves. `desk` holds the
//! files as the editor shows them and what is understood of them; each feature is a file that answers a request from it.

mod actions;
mod changes;
mod completion;
mod context;
mod desk;
mod file_uri;
mod findings;
mod hints;
mod hover;
mod instruments;
mod layout;
mod markdown;
mod mentions;
mod new_records;
mod open_file;
mod outline;
mod overlay;
mod places;
mod protocol;
mod scope;
mod server;
mod snippet;

pub use server::converse;
pub(crate) use server::serve;
