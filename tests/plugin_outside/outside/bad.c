/* Plugins that are wrong in one way each: built with one of BAD_* defined. */
#include <coilward/plugin.h>
#include <math.h>
#include <signal.h>
#include <string.h>

static coilward_text text(const char *string) {
  coilward_text t = {string, strlen(string)};
  return t;
}

static int object;

static void *create(const coilward_host *host, coilward_text config_json) {
  (void)config_json;
#ifdef BAD_REFUSES
  host->fail(host->ctx, text("the moon is not full"));
  return 0;
#else
  host->log(host->ctx, 77, text("a level that is none, and \xff bytes"));
  return &object;
#endif
}

static void destroy(void *self) { (void)self; }

#ifdef BAD_RUBBISH
static void emit_rubbish(char what, coilward_emit emit, void *sink) {
  static const char bytes[8] = "rubbish";
  coilward_value value = {sizeof value, {0, 0}, {0, 0}, 1.0, COILWARD_TIME_NONE, 0};
  if (what == 'n') value.value = NAN;
  if (what == 'i') value.value = INFINITY;
  if (what == 's') value.size = 3;
  if (what == 'p') value.name.size = 5; /* without a pointer */
  if (what == 'l') value.unit = (coilward_text){bytes, SIZE_MAX};
  if (what == 't') value.time_kind = 99;
  if (what == 'T') value.time_kind = COILWARD_TIME_ABSOLUTE, value.time_us = INT64_MIN;
  emit(sink, what == '0' ? 0 : &value);
  emit(sink, &value);
}
#endif

static int decode(void *self, coilward_text topic, coilward_text payload, coilward_emit emit, void *sink,
                  void (*fail)(void *sink, coilward_text why)) {
  (void)self, (void)topic, (void)payload, (void)emit;
#ifdef BAD_CRASHES /* on a payload that begins with 'c'; otherwise a value */
  const coilward_value value = {sizeof value, {0, 0}, text("A"), 0.25, COILWARD_TIME_NONE, 0};
  if (payload.size && payload.data[0] == 'c') raise(SIGSEGV);
  emit(sink, &value);
#elif defined BAD_RUBBISH
  const char what = payload.size ? payload.data[0] : ' ';
  if (what == 'o') return 17;
  if (what == 'r') return COILWARD_REJECTED; /* without a reason */
  if (what == 'f') fail(sink, (coilward_text){0, 99});
  if (what == 'f') return COILWARD_REJECTED;
  emit_rubbish(what, emit, sink);
#else
  fail(sink, text("nothing is good enough"));
#endif
  return COILWARD_DECODED;
}

static const coilward_decoder functions = {
#ifdef BAD_FUNCTIONS
    sizeof(size_t), decode
#elif defined BAD_MISSING
    sizeof(coilward_decoder), 0
#else
    sizeof(coilward_decoder), decode
#endif
};

#ifdef BAD_SYMBOL
#define coilward_plugin_entry some_other_entry
#endif

COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry = {
#ifdef BAD_ABI
    COILWARD_PLUGIN_ABI + 41,
#else
    COILWARD_PLUGIN_ABI,
#endif
#ifdef BAD_SIZE
    12,
#else
    sizeof(coilward_plugin),
#endif
#ifdef BAD_KIND
    "gadget",
#else
    "decoder",
#endif
#ifdef BAD_NAME
    "somebody_else",
#else
    PLUGIN_NAME,
#endif
    "1",
#ifdef BAD_SCHEMA
    "[{\"key\": \"a\", \"type\": \"colour\"}]",
#else
    "[]",
#endif
    create, destroy, &functions};
