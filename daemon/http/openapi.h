/* openapi.h - the interface's own description, OpenAPI 3.1, made from the table of routes. */
#ifndef HTTP_OPENAPI_H
#define HTTP_OPENAPI_H

#include "base/buf.h"
#include "base/rc.h"

MUST_USE enum rc openapi_write(const char *version, struct buf *out);

#endif
