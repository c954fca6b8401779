//! What others have of the branch at hand.

use super::caller::GitError;
use super::changes::Commit;
use super::repository::Repository;

impl Repository {
    /// The last commit that the branch at hand shares with the one it is pushed to, as far as this repository knows;
    /// nothing where it is pushed to none, or shares none with it.
    pub fn pushed(&self) -> Result<Option<Commit>, GitError> {
        // Git fails where there is no such branch, and for nothing else that would not fail everything else here too.
        match self.caller().ask(&["merge-base", "HEAD", "@{upstream}"]) {
            Ok(Some(answer)) => self.resolve(String::from_utf8_lossy(&answer).trim()).map(Some),
            Ok(None) | Err(GitError::Failed { .. }) => Ok(None),
            Err(why) => Err(why),
        }
    }
}
