"""Tools for judging the method, each used by one command: backtest, case files, label damage."""
