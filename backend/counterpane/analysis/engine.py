"""The version of the analysis: stored with every analysis that is kept; it grows when answers change."""

ENGINE = "2"
