"""The steps by table letter, each table in its own module; a plan is picked from them."""
