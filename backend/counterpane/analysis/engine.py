"""The version of the analysis. It is stored with every analysis and grows when answers change."""

ENGINE = "1"
