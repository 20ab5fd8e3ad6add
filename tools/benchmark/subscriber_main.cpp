// A subscriber that only counts: what receiving costs at least.
//   bench-subscriber paho|mosquitto PORT    counts QoS 1 messages under bench/#; prints the count at SIGTERM
#include <mosquitto.h>
#include <mqtt/async_client.h>

#include <atomic>
#include <csignal>
#include <iostream>
#include <string>

namespace {

constexpr const char* kFilter = "coilward/#";
std::atomic<std::uint64_t> count = 0;

class Counter final : public mqtt::callback {
  void message_arrived(mqtt::const_message_ptr) override { ++count; }
};

void wait_for_the_end() {
  sigset_t signals;
  sigemptyset(&signals);
  for (const int signal : {SIGTERM, SIGINT}) sigaddset(&signals, signal);
  int signal = 0;
  sigwait(&signals, &signal);
}

void by_paho(const std::string& port) {
  static Counter counter;
  static mqtt::async_client client("tcp://127.0.0.1:" + port, "bench-paho");
  client.set_callback(counter);
  client.connect(mqtt::connect_options_builder().clean_session(false).finalize())->wait();
  client.subscribe(kFilter, 1)->wait();
  std::cout << "ready" << std::endl;
  wait_for_the_end();
}

void by_mosquitto(int port) {
  mosquitto_lib_init();
  mosquitto* client = mosquitto_new("bench-mosquitto", false, nullptr);
  mosquitto_message_callback_set(client, [](mosquitto*, void*, const mosquitto_message*) { ++count; });
  mosquitto_subscribe_callback_set(
      client, [](mosquitto*, void*, int, int, const int*) { std::cout << "ready" << std::endl; });
  mosquitto_connect(client, "127.0.0.1", port, 60);
  mosquitto_subscribe(client, nullptr, kFilter, 1);
  mosquitto_loop_start(client);
  wait_for_the_end();
}

}  // namespace

int main(int words, char** word) {
  if (words != 3) return 2;
  sigset_t signals;  // for sigwait; threads made later inherit it
  sigemptyset(&signals);
  for (const int signal : {SIGTERM, SIGINT}) sigaddset(&signals, signal);
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  if (std::string(word[1]) == "paho")
    by_paho(word[2]);
  else
    by_mosquitto(std::stoi(word[2]));
  std::cout << count << std::endl;
  std::_Exit(0);
}
