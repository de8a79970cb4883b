/* tool.c - see tool.h. */
#include "tool/tool.h"

#include <stdarg.h>
#include <stdio.h>

#include "store/series.h"

int tool_exit_for(enum rc rc)
{
    if (rc == RC_OK)
        return TOOL_DONE;
    return rc == RC_BAD_INPUT || rc == RC_NOT_FOUND ? TOOL_INPUT : TOOL_SYSTEM;
}

int tool_refuse(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    fputs("stillroom: ", stderr);
    vfprintf(stderr, format, args);
    fputc('\n', stderr);
    va_end(args);
    return TOOL_INPUT;
}

enum rc tool_zone(struct reader *reader, const char *name, uint32_t *out_id)
{
    struct buf names = {0};
    enum rc rc = store_zone_id(reader, name, out_id, &names);
    if (rc == RC_NOT_FOUND)
        tool_refuse("there is no zone \"%s\"; there are: %s", name,
                    names.data == NULL ? "none yet" : names.data);
    buf_free(&names);
    return rc;
}
