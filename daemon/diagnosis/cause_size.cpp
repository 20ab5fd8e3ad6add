#include "daemon/diagnosis/cause_size.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

struct Weighted {
  double value;
  double weight;
};

// Half of the weight lies on either side: one output with a fault of its own does not move it far.
double weighted_median(std::vector<Weighted>& list) {
  if (list.empty()) return kNotMeasured;
  std::sort(list.begin(), list.end(), [](const auto& a, const auto& b) { return a.value < b.value; });
  double total = 0, below = 0;
  for (const auto& item : list) total += item.weight;
  for (const auto& item : list)
    if ((below += item.weight) >= total / 2) return item.value;
  return list.back().value;
}

// |R + r + jX| = |R + jX| / ratio, solved for r; its deviation by the slope there.
OhmsSeen solved(std::complex<double> healthy, double ratio, double sd) {
  const double wanted = std::norm(healthy) / (ratio * ratio);
  const double under = wanted - healthy.imag() * healthy.imag();
  const double resistance = under > 0 ? std::sqrt(under) : 0;
  return {resistance - healthy.real(), sd * wanted / std::max(resistance, healthy.real())};
}

bool tells(const Observation& o) { return measured(o.hold_ratio) && !o.inferred && !o.dead() && !o.cut_out; }

}  // namespace

OhmsSeen ohms_seen(const ZoneElectrics& zone, const Observation& seen) {
  if (!tells(seen)) return {};
  const OhmsSeen hold = solved(zone.hold_impedance(), seen.hold_ratio, seen.hold_sd);
  if (!measured(seen.inrush_ratio) || seen.inrush_ratio < 0.1) return hold;
  const OhmsSeen inrush = solved(zone.inrush_impedance(), seen.inrush_ratio, seen.inrush_sd);
  const double a = 1 / (hold.sd * hold.sd), b = 1 / (inrush.sd * inrush.sd);
  return {(a * hold.ohms + b * inrush.ohms) / (a + b), 1 / std::sqrt(a + b)};
}

double common_ohms(std::span<const int> zones, UtcTime since, bool latest_only,
                   const std::vector<ZoneFilter>& filters, const std::vector<ZoneElectrics>& fitted) {
  std::vector<Weighted> list;
  for (int zone : zones) {
    const auto& window = filters[static_cast<std::size_t>(zone)].window();
    for (std::size_t i = latest_only && !window.empty() ? window.size() - 1 : 0; i < window.size(); ++i) {
      if (window[i].start < since) continue;
      const OhmsSeen seen = ohms_seen(fitted[static_cast<std::size_t>(zone)], window[i]);
      if (measured(seen.ohms)) list.push_back({seen.ohms, 1 / (seen.sd * seen.sd)});
    }
  }
  return weighted_median(list);
}

double both_over_own(const ZoneElectrics& own, const ZoneElectrics& other) {
  const std::complex<double> mine = own.hold_impedance();
  return std::abs(1.0 + mine / other.hold_impedance());
}

double crossed_share(int zone, int other, UtcTime since, const std::vector<ZoneFilter>& filters,
                     const std::vector<ZoneElectrics>& fitted) {
  std::vector<Weighted> list;
  const double sum =
      both_over_own(fitted[static_cast<std::size_t>(zone)], fitted[static_cast<std::size_t>(other)]);
  for (const auto& o : filters[static_cast<std::size_t>(zone)].window())
    if (o.start >= since && measured(o.hold_ratio) && !o.dead())
      list.push_back({o.hold_ratio / sum, 1 / (o.hold_sd * o.hold_sd)});
  return weighted_median(list);
}

double supply_factor(UtcTime since, const std::vector<ZoneFilter>& filters) {
  std::vector<Weighted> list;
  for (const auto& filter : filters)
    for (const auto& o : filter.window()) {
      if (o.start < since) continue;
      if (measured(o.volts_ratio))
        list.push_back({o.volts_ratio, 1 / (o.volts_sd * o.volts_sd)});
      else if (tells(o) && !o.volts_known)
        list.push_back({o.hold_ratio, 1 / (o.hold_sd * o.hold_sd)});
    }
  return weighted_median(list);
}

}  // namespace coilward
