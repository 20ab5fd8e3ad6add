#include <fmt/format.h>

#include "daemon/simulate/scenario.h"

namespace coilward::simulate {
namespace {

class SensorMaker {
 public:
  SensorMaker(const Config& config, const SensorMake& make, std::uint64_t seed)
      : config_(config), make_(make), seed_(seed) {}

  std::vector<SensorPlan> take() { return std::move(made_); }

  void current(Channel channel) {
    SensorPlan& it = add(channel, "A", make_.quantum_amps);
    it.floor = chance_.between(0, 0.004);
    it.zero = chance_.normal(0.0015);
    it.noise = make_.quantum_amps * 0.5;
    it.burst = make_.burst && channel.kind != ChannelKind::common_current;
    // Plain numbers have no room for several readings: such a sensor sends its bursts as SenML and the rest
    // as well.
    if (it.burst && it.form == PayloadForm::number) it.form = PayloadForm::senml_json;
    if (it.burst && it.form == PayloadForm::json) it.form = PayloadForm::senml_json;
    it.quick_s = make_.quick_s;
    it.idle_s = make_.idle_s;
  }
  void volts(Channel channel) {
    SensorPlan& it = add(channel, "V", 0.1);
    it.noise = 0.03;
    it.gain = chance_.about_one(0.008);
    it.quick_s = std::max(5.0, make_.quick_s);
    it.idle_s = std::max(120.0, make_.idle_s);
  }
  void command(Channel channel) {
    SensorPlan& it = add(channel, "", 1);
    it.noise_share = it.noise = 0;
    it.quick_s = it.idle_s = 300;
    it.latency_s = 0.01;
    it.loss = make_.command_loss;
    it.qos = 1;
  }
  void celsius(Channel channel) {
    SensorPlan& it = add(channel, "Cel", 0.1);
    it.gain = 1;
    it.zero = chance_.normal(0.4);
    it.noise = 0.1;
    it.noise_share = 0;
    it.quick_s = it.idle_s = 600;
  }

 private:
  SensorPlan& add(Channel channel, const char* unit, double quantum) {
    chance_ = Chance(seed_, "make", channel_slot(channel));
    SensorPlan it;
    it.channel = channel;
    it.senml_name = channel_text(channel, config_);
    it.topic = fmt::format("{}/{}/measure/{}", config_.mqtt.prefix, config_.site.id, it.senml_name);
    it.unit = unit;
    it.form = make_.form;
    it.own_time = make_.own_time;
    it.gain = chance_.about_one(make_.gain_sigma);
    it.noise_share = make_.noise_share;
    it.quantum = quantum;
    it.quick_when = make_.quick_when;
    it.loss = make_.loss;
    it.qos = make_.loss > 0 ? 0 : 1;
    it.jitter_s = make_.jitter_s;
    made_.push_back(std::move(it));
    return made_.back();
  }

  const Config& config_;
  const SensorMake& make_;
  std::uint64_t seed_;
  Chance chance_{0};
  std::vector<SensorPlan> made_;
};

Channel of(ChannelKind kind, int index = 0) { return {kind, static_cast<std::uint8_t>(index)}; }

}  // namespace

SensorMake draw_make(std::uint64_t seed, const Channels& channels, int zones) {
  Chance chance(seed, "sensor make");
  SensorMake make;
  make.form = chance.pick<PayloadForm>({PayloadForm::number, PayloadForm::number, PayloadForm::senml_json,
                                        PayloadForm::senml_json, PayloadForm::senml_cbor, PayloadForm::json});
  make.own_time = make.form != PayloadForm::number && chance.happens(0.5);
  make.burst = chance.happens(0.4);
  make.gain_sigma = chance.scale(0.003, 0.03);
  make.noise_share = chance.scale(0.002, 0.02);
  make.quantum_amps = chance.pick<double>({0.001, 0.001, 0.001, 0.0005, 0.002, 0.005});
  make.quick_s = make.burst ? chance.pick<double>({1, 5, 10, 30}) : chance.pick<double>({1, 1, 2, 5, 10});
  // Many outputs are not asked as often: a board has one bus.
  make.idle_s = zones <= 12 ? chance.pick<double>({30, 60, 60, 300}) : chance.pick<double>({60, 120, 300});
  make.quick_when = channels.command ? QuickWhen::commanded : QuickWhen::current;
  if (make.quick_s >= 10 && zones <= 12 && chance.happens(0.5)) make.quick_when = QuickWhen::always;
  make.loss = chance.happens(0.5) ? 0 : chance.scale(0.0005, 0.02);
  // Commands are few and mostly sent with care; where they are not, a lost one is a hard case.
  make.command_loss = chance.happens(0.15) ? make.loss : 0;
  make.jitter_s = chance.scale(0.002, 0.1);
  // One that never rests would send a million a zone and season: such sensors are slow ones.
  if (make.quick_when == QuickWhen::always) make.quick_s = 30;
  return make;
}

std::vector<SensorPlan> make_sensors(const Config& config, const Channels& channels, const SensorMake& make,
                                     std::uint64_t seed) {
  SensorMaker maker(config, make, seed);
  const bool master = channels.master && config.master.present;
  if (master && channels.command) maker.command(of(ChannelKind::master_command));
  if (master) maker.current(of(ChannelKind::master_current));
  for (const ZoneConfig& zone : config.zones) {
    if (channels.command) maker.command(of(ChannelKind::zone_command, zone.number));
    maker.current(of(ChannelKind::zone_current, zone.number));
    if (channels.zone_volts) maker.volts(of(ChannelKind::zone_voltage, zone.number));
  }
  for (std::size_t c = 0; channels.common_current && c < config.commons.size(); ++c)
    maker.current(of(ChannelKind::common_current, static_cast<int>(c)));
  if (channels.supply_volts) maker.volts(of(ChannelKind::supply_voltage));
  if (channels.soil) maker.celsius(of(ChannelKind::soil_temperature));
  if (channels.air) maker.celsius(of(ChannelKind::air_temperature));
  return maker.take();
}

}  // namespace coilward::simulate
