// One exporter with its thread, its mark and its own time-outs.
#pragma once

#include <memory>
#include <string>

#include "daemon/base/clock.h"
#include "daemon/delivery/batch_source.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/delivery/receiver.h"

namespace coilward {

// Thread: any for the member functions.
class ExporterRunner {
 public:
  // Starts the thread. `clock` must live until the process ends (a thread may be left behind). seed: of the
  // jitter.
  ExporterRunner(std::string name, std::string plugin, std::unique_ptr<Receiver> receiver,
                 std::unique_ptr<BatchSource> source, const Clock& clock, std::uint64_t seed);
  ~ExporterRunner();  // as stop(2 s)

  void wake();
  DeliveryState state() const;
  // false: the receiver did not return in time; its thread is left behind.
  bool stop(Millis limit);

 private:
  struct Body;
  std::shared_ptr<Body> body_;
  struct Threads;
  std::unique_ptr<Threads> threads_;
};

}  // namespace coilward
