"""When an exchanger reaches its limit by the law its deposit grew by: fitted by a worker, kept as rows."""
