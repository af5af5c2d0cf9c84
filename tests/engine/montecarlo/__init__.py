"""The stated ranges and shares against worlds that are drawn one by one, each priced as if it were the only one."""
