"""People's tokens: real keys, a real key set over HTTP, and tokens of every bad kind."""
