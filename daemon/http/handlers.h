/* handlers.h - one function a route; each fills the reply whatever happens.
 *
 * Threads: any; they touch nothing but what the context holds.
 */
#ifndef HTTP_HANDLERS_H
#define HTTP_HANDLERS_H

#include "http/context.h"
#include "http/reply.h"
#include "http/request.h"

void api_studio_get(struct context *context, const struct request *request,
                    struct reply *reply);
void api_studio_health(struct context *context, const struct request *request,
                       struct reply *reply);
void api_zones_list(struct context *context, const struct request *request,
                    struct reply *reply);
void api_zones_one(struct context *context, const struct request *request, struct reply *reply);
void api_series_get(struct context *context, const struct request *request,
                    struct reply *reply);
void api_alarms_list(struct context *context, const struct request *request,
                     struct reply *reply);
void api_alarms_history(struct context *context, const struct request *request,
                        struct reply *reply);
void api_instruments_list(struct context *context, const struct request *request,
                          struct reply *reply);
void events_get(struct context *context, const struct request *request, struct reply *reply);
void openapi_get(struct context *context, const struct request *request, struct reply *reply);
void metrics_get(struct context *context, const struct request *request, struct reply *reply);

#endif
