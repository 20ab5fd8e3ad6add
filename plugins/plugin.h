/* The interface between coilwardd and its plugins: C11 and C++, one constant symbol, checked before use.
 *
 * A plugin is a shared object that exports `const coilward_plugin coilward_plugin_entry`. It acts and nothing
 * else: the host checks the configuration, owns queues, retries and threads. No exception, allocator or C++ type
 * crosses; each side frees what it made. A plugin is never unloaded.
 *
 * Fields are only ever appended, and each struct starts with its size, so that either side can be the older one.
 * Thread rules stand beside each function.
 */
#ifndef COILWARD_PLUGIN_H
#define COILWARD_PLUGIN_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define COILWARD_PLUGIN_ABI 1u

/* Text that is valid during the call only; not ended by a zero byte. */
typedef struct {
  const char *data;
  size_t size;
} coilward_text;

/* What the host offers a plugin. Lives longer than the plugin's objects. [any thread] */
typedef struct {
  size_t size;
  void *ctx;
  /* level: 0 debug, 1 info, 2 warning, 3 error. Rate-limited by the host. */
  void (*log)(void *ctx, int level, coilward_text line);
  /* Says why create() is about to return NULL. */
  void (*fail)(void *ctx, coilward_text why);
} coilward_host;

typedef struct {
  uint32_t abi;              /* COILWARD_PLUGIN_ABI it was built against */
  uint32_t size;             /* sizeof(coilward_plugin) */
  const char *kind;          /* "decoder", "notifier", "exporter" */
  const char *name;          /* a-z 0-9 _ ; the name used in the configuration */
  const char *version;       /* of the plugin, free text */
  /* JSON array of {"key","type","unit","default","help","required","secret_file","allowed"}; type is one of text, integer,
   * number, boolean, list (of text), table (of text), pointer (RFC 6901), file. The host refuses what does not fit before create. */
  const char *config_schema;
  /* No input or output in here. NULL after host->fail(why). [core thread] */
  void *(*create)(const coilward_host *host, coilward_text config_json);
  void (*destroy)(void *self); /* [core thread, after the last call returned] */
  const void *functions;     /* coilward_decoder, coilward_notifier or coilward_exporter, by kind */
} coilward_plugin;

/* ---- decoder: a payload becomes readings ------------------------------------------------------------------ */

enum { COILWARD_TIME_NONE = 0, COILWARD_TIME_ABSOLUTE = 1, COILWARD_TIME_RELATIVE = 2 };

/* One value found in a payload. */
typedef struct {
  size_t size;
  coilward_text name;   /* ends in the channel ("zone/4/current"); empty: the topic says the channel */
  coilward_text unit;   /* as the payload says it ("A", "mA", "Cel"); empty: the configuration says it */
  double value;         /* 1 and 0 for on and off */
  int32_t time_kind;    /* COILWARD_TIME_* */
  int64_t time_us;      /* since 1970-01-01T00:00:00Z, or (relative) since arrival, microseconds */
} coilward_value;

typedef void (*coilward_emit)(void *sink, const coilward_value *value);

enum { COILWARD_DECODED = 0, COILWARD_REJECTED = 1 };

typedef struct {
  size_t size;
  /* Calls emit for each value in order. COILWARD_REJECTED after fail(sink, why) when the payload is not
   * understood; the host then drops what was emitted for it. [core thread, never blocks] */
  int (*decode)(void *self, coilward_text topic, coilward_text payload, coilward_emit emit, void *sink,
                void (*fail)(void *sink, coilward_text why));
} coilward_decoder;

/* ---- notifier and exporter: something leaves ---------------------------------------------------------------- */

enum {
  COILWARD_DONE = 0,
  COILWARD_RETRY = 1,   /* the other side may take it later */
  COILWARD_REFUSED = 2  /* it will never take this one */
};

/* The other side's own words, for logs, pages and `test-alert`. */
typedef void (*coilward_say)(void *sink, coilward_text words);

typedef struct {
  size_t size;
  /* One alert as JSON (see plugins/notifiers/README.md). Returns within timeout_s. [own thread, may block] */
  int (*deliver)(void *self, coilward_text alert_json, double timeout_s, coilward_say say, void *sink);
  /* A running deliver returns soon. [any thread] */
  void (*interrupt)(void *self);
} coilward_notifier;

typedef struct {
  size_t size;
  /* One batch as JSON (see plugins/exporters/README.md): readings, runs and findings with a batch id; the same
   * batch may come twice. Returns within timeout_s. [own thread, may block] */
  int (*store)(void *self, coilward_text batch_json, double timeout_s, coilward_say say, void *sink);
  void (*interrupt)(void *self); /* [any thread] */
} coilward_exporter;

#ifdef __cplusplus
}
#endif

#ifdef _WIN32
#error "coilward plugins are for POSIX systems"
#endif
#define COILWARD_PLUGIN_EXPORT __attribute__((visibility("default")))

#endif /* COILWARD_PLUGIN_H */
