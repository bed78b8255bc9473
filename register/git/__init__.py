"""The only room that runs git: commit, read history, apply a change durably."""
