#include "daemon/crash_words.h"

#include <unistd.h>

#include <csignal>
#include <cstring>
#include <initializer_list>

#include "daemon/host/running_plugin.h"
#include "daemon/message_in_hand.h"

namespace coilward {
namespace {

void put(const char* text) {
  if (::write(STDERR_FILENO, text, std::strlen(text)) < 0) return;  // nobody left to tell
}

// Async-signal-safe calls only (signal-safety(7)).
void last_words(int signal) {
  MessageInHand::note_crash();
  if (const char* plugin = running_plugin()) {
    put("coilwardd: the plugin '");
    put(plugin);
    put("' crashed and took the daemon with it. Take it out of the configuration or put in another "
        "version.\n");
  } else {
    put("coilwardd: crashed; please report it, with what is above.\n");
  }
  ::raise(signal);  // SA_RESETHAND: now the default
}

}  // namespace

void say_who_crashed() {
  struct sigaction action {};
  action.sa_handler = last_words;
  action.sa_flags = SA_RESETHAND | SA_NODEFER;
  for (const int signal : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT}) ::sigaction(signal, &action, nullptr);
}

}  // namespace coilward
