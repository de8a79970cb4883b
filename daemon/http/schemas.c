/* schemas.c - see schemas.h. */
#include "http/schemas.h"

#define TIME "{'type':'integer','description':'UTC seconds'}"
#define TIME_OR_NULL "{'type':['integer','null'],'description':'UTC seconds'}"
#define TEXT "{'type':'string'}"
#define TEXT_OR_NULL "{'type':['string','null']}"
#define NUMBER_OR_NULL "{'type':['number','null']}"
#define COUNT "{'type':'integer','minimum':0}"
#define REF(name) "{'$ref':'#/components/schemas/" name "'}"
#define LIST(item) "{'type':'array','items':" item "}"
#define FITNESS "{'enum':['fit','unfit','unknown']}"

/* It would set each macro on a line of its own. */
/* clang-format off */
const struct schema schemas_table[] = {
    {"Problem",
     "{'type':'object','description':'RFC 9457 problem details','required':['type','title',"
     "'status'],'properties':{'type':" TEXT ",'title':" TEXT
     ",'status':{'type':'integer'},'detail':" TEXT "}}"},
    {"Moment",
     "{"
     "'description':'UTC seconds, or ISO 8601 (without an offset: the studio\u2019s own time)',"
     "'oneOf':[{'type':'integer','minimum':0},{'type':'string',"
     "'pattern':'^[0-9]{4}-[0-9]{2}-[0-9]{2}'}]}"},
    {"Quantity",
     "{'enum':['temperature','humidity','surface_temperature','wood_moisture','leak',"
     "'mains','door','tank_full','plant_running','dew_point','absolute_humidity','emc',"
     "'mould_index','surface_humidity','dew_margin']}"},
    {"Studio",
     "{'type':'object','required':['name','timezone','demo','version','now','altitude_m',"
     "'clock','recording','sensors','signed_days','last_signed_day','messages','key'],"
     "'properties':{"
     "'name':" TEXT ",'timezone':" TEXT ",'demo':{'type':'boolean'},'version':" TEXT
     ",'now':" TIME ",'altitude_m':{'type':'number'},'clock':{'enum':['good',"
     "'unsynchronised','trusted']},'recording':{'type':'object','required':['state',"
     "'detail','last_commit','since','queue'],'properties':{'state':{'enum':['recording',"
     "'cannot_write']},'detail':" TEXT_OR_NULL ",'last_commit':" TIME_OR_NULL ",'since':"
     TIME ",'queue':" COUNT "}},'sensors':" COUNT ",'signed_days':" COUNT ","
     "'last_signed_day':{'type':['string','null'],'format':'date'},'messages':{'type':'object',"
     "'required':['waiting','given_up'],'properties':{'waiting':" COUNT
     ",'given_up':" COUNT "}},'key':{'type':'string',"
     "'pattern':'^[0-9a-f]{16}$'}}}"},
    {"Value",
     "{'type':'object','required':['value','t','flags'],'properties':{'value':{"
     "'type':'number'},'t':" TIME ",'flags':" LIST("{'enum':['out_of_range','jump','stuck',"
     "'suspect','clock','imported','in_check']}") "}}"},
    {"Now",
     "{'type':'object','required':['t'],'properties':{'t':" TIME ",'temperature':"
     REF("Value") ",'humidity':" REF("Value") ",'surface_temperature':" REF("Value")
     ",'wood_moisture':" REF("Value") ",'leak':" REF("Value") ",'mains':" REF("Value")
     ",'door':" REF("Value") ",'tank_full':" REF("Value") ",'plant_running':" REF("Value")
     ",'dew_point':" REF("Value") ",'absolute_humidity':" REF("Value") ",'emc':" REF("Value")
     ",'mould_index':" REF("Value") ",'surface_humidity':" REF("Value") ",'dew_margin':"
     REF("Value") "}}"},
    {"Limit",
     "{'type':'object','required':['name','text','quantity','rule','value','priority',"
     "'source'],'properties':{'name':" TEXT ",'text':" TEXT ",'quantity':{'oneOf':["
     REF("Quantity") ",{'type':'null'}]},'rule':{'enum':['above','below','range',"
     "'dew_margin','contact','silent']},'value':" NUMBER_OR_NULL ",'priority':"
     REF("Priority") ",'source':" TEXT "}}"},
    {"Priority",
     "{'enum':['digest','low','medium','high','highest']}"},
    {"Zone",
     "{'type':'object','required':['id','title','purpose','lead','instruments','quantities',"
     "'first','now','trend','quiet','limits','alarms','damp_hours','fitness'],'properties':{"
     "'id':" TEXT ",'title':" TEXT ",'purpose':{'enum':['drying','bench','store',"
     "'quarantine','gallery','chamber','crate','transit','outdoor','other']},'lead':"
     TEXT_OR_NULL ",'instruments':" LIST("{'type':'object','required':['name','serial',"
     "'quantities','every_s','last'],'properties':{'name':" TEXT ",'serial':" TEXT
     ",'quantities':" LIST(REF("Quantity")) ",'every_s':" COUNT ",'last':" TIME_OR_NULL "}}")
     ",'quantities':" LIST(REF("Quantity")) ",'first':" TIME_OR_NULL ",'now':{'oneOf':["
     REF("Now") ",{'type':'null'}]},'trend':{'type':'object',"
     "'description':'change per hour over the last three hours',"
     "'required':['humidity_per_hour','temperature_per_hour'],'properties':{"
     "'humidity_per_hour':" NUMBER_OR_NULL ",'temperature_per_hour':" NUMBER_OR_NULL "}},"
     "'quiet':{'oneOf':[{'type':'null'},{'type':'object','required':['since','reason',"
     "'text'],'properties':{'since':" TIME ",'reason':" TEXT ",'text':" TEXT "}}]},'limits':"
     LIST(REF("Limit")) ",'alarms':" LIST(REF("Alarm")) ",'damp_hours':{'oneOf':[{"
     "'type':'null'},{'type':'object',"
     "'description':'hours at or above so many %RH in the last 30 signed days, of those covered',"
     "'required':['65','75','80','covered'],'properties':{'65':{'type':'number'},'75':{"
     "'type':'number'},'80':{'type':'number'},'covered':{'type':'number'}}}]},'fitness':{"
     "'oneOf':[{'type':'null'}," LIST("{'type':'object','required':['work','now',"
     "'until_morning','reason','caution'],'properties':{'work':" TEXT ",'now':" FITNESS
     ",'until_morning':" FITNESS ",'reason':" TEXT ",'caution':" TEXT "}}") "]}}}"},
    {"Zones",
     "{'type':'object','required':['zones'],'properties':{'zones':" LIST(REF("Zone")) "}}"},
    {"Gap",
     "{'type':'object','required':['from','to','reason','text'],'properties':{'from':" TIME
     ",'to':" TIME_OR_NULL ",'reason':" TEXT ",'text':" TEXT "}}"},
    {"Series",
     "{'type':'object','required':['zone','quantity','unit','from','to','step','t','min',"
     "'mean','max','gaps'],'properties':{'zone':" TEXT ",'quantity':" REF("Quantity")
     ",'unit':" TEXT ",'from':" TIME ",'to':" TIME ",'step':{'type':'integer','minimum':0,"
     "'description':'seconds of a bucket; 0: every reading as it came'},'t':" LIST(TIME)
     ",'min':" LIST("{'type':'number'}") ",'mean':" LIST("{'type':'number'}") ",'max':"
     LIST("{'type':'number'}") ",'gaps':" LIST(REF("Gap")) "}}"},
    {"AlarmState",
     "{'enum':['unacknowledged','acknowledged','returned','shelved','out_of_service',"
     "'normal']}"},
    {"Alarm",
     "{'type':'object','required':['id','limit','zone','zone_title','instrument','quantity',"
     "'state','priority','since','until','value','threshold','text'],'properties':{'id':{"
     "'type':'integer'},'limit':" TEXT ",'zone':" TEXT_OR_NULL ",'zone_title':" TEXT_OR_NULL
     ",'instrument':" TEXT_OR_NULL ",'quantity':{'oneOf':[" REF("Quantity")
     ",{'type':'null'}]},'state':" REF("AlarmState") ",'priority':" REF("Priority")
     ",'since':" TIME ",'until':" TIME_OR_NULL ",'value':{'type':['number','null'],"
     "'description':'the worst so far'},'threshold':" NUMBER_OR_NULL ",'text':" TEXT "}}"},
    {"Alarms",
     "{'type':'object','required':['alarms'],'properties':{'alarms':" LIST(REF("Alarm")) "}}"},
    {"AlarmHistory",
     "{'type':'object','required':['events'],'properties':{'events':" LIST("{"
     "'type':'object','required':['t','from','to','value','person','reason'],'properties':{"
     "'t':" TIME ",'from':" REF("AlarmState") ",'to':" REF("AlarmState") ",'value':"
     NUMBER_OR_NULL ",'person':" TEXT_OR_NULL ",'reason':" TEXT_OR_NULL "}}") "}}"},
    {"Instruments",
     "{'type':'object','required':['instruments'],'properties':{'instruments':" LIST("{"
     "'type':'object','required':['name','serial','bus','unit','zone','every_s','placement',"
     "'quantities','state','last','reason','text','polls','failures'],'properties':{'name':"
     TEXT ",'serial':" TEXT ",'bus':" TEXT ",'unit':" COUNT ",'zone':" TEXT ",'every_s':"
     COUNT ",'placement':" TEXT ",'quantities':" LIST(REF("Quantity"))
     ",'state':{'enum':['reading','failing','never']},'last':" TIME_OR_NULL ",'reason':"
     TEXT_OR_NULL ",'text':" TEXT_OR_NULL ",'polls':" COUNT ",'failures':" COUNT "}}") "}}"},
    {"Health",
     "{'type':'object','required':['status','detail'],'properties':{'status':{'enum':['ok',"
     "'degraded']},'detail':" TEXT_OR_NULL "}}"},
    {"Readings",
     "{'type':'object','required':['t','zones'],'properties':{'t':" TIME ",'zones':" LIST("{"
     "'type':'object','required':['id','now'],'properties':{'id':" TEXT ",'now':{'oneOf':["
     REF("Now") ",{'type':'null'}]}}}") "}}"},
    {"Document",
     "{'type':'object','description':'an OpenAPI 3.1 document','required':['openapi','info',"
     "'paths']}"},
};
/* clang-format on */
const size_t schemas_count = sizeof schemas_table / sizeof schemas_table[0];
