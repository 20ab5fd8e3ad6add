#include "daemon/stop_signals.h"

#include <csignal>
#include <initializer_list>

namespace coilward {
namespace {

void change_mask(int how) {
  sigset_t signals;
  sigemptyset(&signals);
  for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&signals, signal);
  pthread_sigmask(how, &signals, nullptr);
}

}  // namespace

void hold_stop_signals() { change_mask(SIG_BLOCK); }
void let_stop_signals_in() { change_mask(SIG_UNBLOCK); }

}  // namespace coilward
