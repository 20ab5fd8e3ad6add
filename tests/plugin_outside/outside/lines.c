/* A decoder in C11: one reading a line, "zone/4/current 0.231 A" or with a fourth word, seconds before arrival. */
#include <coilward/plugin.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  int strict; /* a line that is none refuses the whole payload */
} lines;

static coilward_text text(const char *string) {
  coilward_text t = {string, strlen(string)};
  return t;
}

static void *create(const coilward_host *host, coilward_text config_json) {
  lines *self = calloc(1, sizeof *self);
  if (!self) {
    host->fail(host->ctx, text("out of memory"));
    return NULL;
  }
  /* The host has checked the settings and filled in the default, so this is enough. */
  char config[256];
  size_t size = config_json.size < sizeof config - 1 ? config_json.size : sizeof config - 1;
  memcpy(config, config_json.data, size);
  config[size] = 0;
  self->strict = strstr(config, "\"strict\":true") != NULL;
  host->log(host->ctx, 0, text("ready"));
  return self;
}

static void destroy(void *self) { free(self); }

static int emit_line(const char *line, coilward_emit emit, void *sink) {
  char name[64], unit[16];
  double value = 0, ago = 0;
  const int words = sscanf(line, "%63s %lf %15s %lf", name, &value, unit, &ago);
  if (words < 3) return 0;
  coilward_value found = {.size = sizeof found, .name = text(name), .unit = text(unit), .value = value};
  if (words == 4) {
    found.time_kind = COILWARD_TIME_RELATIVE;
    found.time_us = (int64_t)(-ago * 1e6);
  }
  emit(sink, &found);
  return 1;
}

static int decode(void *self, coilward_text topic, coilward_text payload, coilward_emit emit, void *sink,
                  void (*fail)(void *sink, coilward_text why)) {
  (void)topic;
  const char *at = payload.data, *end = payload.data + payload.size;
  while (at < end) {
    char line[128];
    const char *stop = memchr(at, '\n', (size_t)(end - at));
    if (!stop) stop = end;
    size_t size = (size_t)(stop - at) < sizeof line - 1 ? (size_t)(stop - at) : sizeof line - 1;
    memcpy(line, at, size);
    line[size] = 0;
    if (!emit_line(line, emit, sink) && ((lines *)self)->strict) {
      fail(sink, text("a line is not: name value unit"));
      return COILWARD_REJECTED;
    }
    at = stop + 1;
  }
  return COILWARD_DECODED;
}

static const coilward_decoder functions = {sizeof(coilward_decoder), decode};

COILWARD_PLUGIN_EXPORT const coilward_plugin coilward_plugin_entry = {
    COILWARD_PLUGIN_ABI,
    sizeof(coilward_plugin),
    "decoder",
    "lines",
    "0.3",
    "[{\"key\": \"strict\", \"type\": \"boolean\", \"default\": false, \"help\": \"refuse a payload with a bad line\"}]",
    create,
    destroy,
    &functions};
