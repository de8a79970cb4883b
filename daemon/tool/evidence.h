/* evidence.h - the subcommands about signed days, and how they tell what differs. */
#ifndef TOOL_EVIDENCE_H
#define TOOL_EVIDENCE_H

#include "evidence/findings.h"
#include "site/site.h"

int bundle_main(const struct site *site, int argc, char **argv);
int verify_main(const struct site *site, int argc, char **argv);

/* A finding as one line: to `context`, a FILE, or to stderr if that is NULL. */
void evidence_tell(void *context, const struct finding *finding);

#endif
