#include "daemon/locate/test_choice.h"

#include <algorithm>
#include <cmath>

#include "daemon/locate/cautions.h"
#include "daemon/locate/reading_bands.h"

namespace coilward {
namespace {

// Places less likely than this part of the likeliest are not planned for. Own judgement.
constexpr double kWorthPlanning = 0.006;
// On a way with so many stops the plan knows fewer places.
constexpr int kLongWay = 60;
constexpr std::size_t kPlacesOnLongWay = 20;
bool same_form(const TestForm& form, const WirePath& path, const TestReading& r) {
  if (form.kind != r.kind || path.stop(form.stop).name != r.at || path.zone != r.zone) return false;
  if (form.kind == ReadingKind::ohms) return form.toward == r.toward;
  return form.kind != ReadingKind::source_volts || form.conductor == r.conductor;
}

class TestChooser {
 public:
  TestChooser(const Config& config, const Finding& finding, const WirePath& path, const Ladder& ladder,
              std::span<const Suspect> suspects, const Judgement& judgement,
              std::span<const TestReading> readings)
      : config_(config),
        finding_(finding),
        path_(path),
        ladder_(ladder),
        suspects_(suspects),
        judgement_(judgement),
        readings_(readings) {}

  TestChoice choose() {
    keep_likely();
    if (kept_.empty()) return {};
    set_problem();
    const VisitPlan plan = plan_visit(problem_);
    TestChoice choice{std::nullopt, plan.minutes, plan.exact && !together_};
    if (plan.test >= 0) choice.next = next_of(forms_[static_cast<std::size_t>(plan.test)], plan.first);
    if (reference_ && !held_) hold_against(*reference_, choice);
    return choice;
  }

 private:
  // Where some readings say nothing by themselves, the same at the controller first gives them something to
  // be held against: proposed when that makes the rest so much shorter.
  void hold_against(const TestForm& form, TestChoice& choice) const {
    Judgement after = judgement_;
    if (form.kind == ReadingKind::volts_on)
      after.supply_sd = kMeterShare + kMeterVolts / config_.supply.volts;
    else
      after.coil_sd = kMeterOhmsShare;
    TestChooser then(config_, finding_, path_, ladder_, suspects_, after, readings_);
    then.held_ = true;
    const double first = test_minutes(problem_, visit_test(form), problem_.at, problem_.open, problem_.setup);
    const double all = first + then.choose().minutes;
    if (all >= choice.minutes) return;
    choice.minutes = all;
    choice.next = next_of(form, first);
  }

  void keep_likely() {
    const auto& p = judgement_.probability;
    const double least = kWorthPlanning * *std::ranges::max_element(p);
    for (std::size_t i = 0; i < suspects_.size(); ++i)
      if (p[i] >= least) kept_.push_back(static_cast<int>(i)), chance_.push_back(p[i]);
    const std::size_t most = path_.last() > kLongWay ? kPlacesOnLongWay : std::size_t{kMostVisitPlaces};
    if (kept_.size() > most) take_together(most);
  }

  // Too many to plan for one by one: neighbours on the way stand for one another, until readings leave fewer.
  void take_together(std::size_t most) {
    std::ranges::stable_sort(kept_, {}, [&](int i) { return suspects_[static_cast<std::size_t>(i)].spot; });
    std::vector<int> places;
    std::vector<double> chances;
    for (std::size_t i = 0; i < most; ++i) {
      const std::size_t from = i * kept_.size() / most, to = (i + 1) * kept_.size() / most;
      double sum = 0;
      for (std::size_t k = from; k < to; ++k)
        sum += judgement_.probability[static_cast<std::size_t>(kept_[k])];
      places.push_back(kept_[(from + to) / 2]);
      chances.push_back(sum);
    }
    kept_ = std::move(places);
    chance_ = std::move(chances);
    together_ = true;
  }
  const Suspect& kept(std::size_t i) const { return suspects_[static_cast<std::size_t>(kept_[i])]; }

  // ---- the visit
  int place_stop(const Suspect& s) const {
    const auto& name = s.place.kind == PlaceKind::segment ? s.place.to : s.place.at;
    return s.place.kind == PlaceKind::controller ? 0 : path_.stop_named(name);
  }

  // Only stops that matter have a number in the plan.
  void number_stops() {
    stops_ = {0, at_stop()};
    for (std::size_t i = 0; i < kept_.size(); ++i) {
      const int stop = place_stop(kept(i));
      stops_.push_back(stop);
      if (stop > 0) stops_.push_back(stop - 1);
    }
    std::ranges::sort(stops_);
    stops_.erase(std::unique(stops_.begin(), stops_.end()), stops_.end());
  }
  int number_of(int stop) const {
    return static_cast<int>(std::ranges::lower_bound(stops_, stop) - stops_.begin());
  }
  bool numbered(int stop) const { return std::ranges::binary_search(stops_, stop); }

  int at_stop() const {
    for (std::size_t i = readings_.size(); i-- > 0;)
      if (const int stop = path_.stop_named(readings_[i].at); stop >= 0) return stop;
    return 0;
  }

  void set_problem() {
    number_stops();
    const VisitConfig& visit = config_.visit;
    for (int stop : stops_)
      problem_.walk.push_back(path_.stop(stop).from_controller / visit.walk_metres_per_minute);
    problem_.open_minutes = visit.open_box_minutes;
    problem_.setup_minutes = visit.source_setup_minutes;
    problem_.at = held_ ? 0 : number_of(at_stop());
    for (const TestReading& r : readings_)
      if (const int stop = path_.stop_named(r.at); stop >= 0 && numbered(stop))
        problem_.open |= std::uint64_t{1} << number_of(stop);
    if (!readings_.empty() && readings_.back().kind == ReadingKind::source_volts)
      problem_.setup = setup_of(readings_.back().conductor);
    add_places();
    add_tests();
  }

  static int setup_of(Conductor conductor) { return conductor == Conductor::zone ? 1 : 2; }

  void add_places() {
    const VisitConfig& visit = config_.visit;
    for (std::size_t i = 0; i < kept_.size(); ++i) {
      const Suspect& s = kept(i);
      const int stop = place_stop(s);
      VisitPlace place{chance_[i], number_of(stop), 0, false};
      place.in_box = s.place.kind == PlaceKind::splice || s.place.kind == PlaceKind::coil;
      place.minutes = s.place.kind == PlaceKind::controller ? visit.controller_minutes
                      : s.place.kind == PlaceKind::splice   ? visit.splice_minutes
                      : s.place.kind == PlaceKind::coil
                          ? visit.coil_minutes
                          : visit.dig_minutes_per_metre * path_.stop(stop).metres;
      problem_.places.push_back(place);
    }
  }

  // ---- the readings
  bool any(std::initializer_list<Defect> defects) const {
    for (std::size_t i = 0; i < kept_.size(); ++i)
      for (Defect d : defects)
        if (kept(i).defect == d) return true;
    return false;
  }

  std::vector<TestForm> all_forms() const {
    std::vector<TestForm> forms;
    const bool shorted = finding_.fault == Fault::shorted_coil;  // it is not switched on for a reading
    const bool volts = !shorted && any({Defect::open, Defect::series_ohms, Defect::plunger_out});
    const bool branch = any({Defect::branch_open});
    const bool ohms =
        any({Defect::open, Defect::series_ohms, Defect::shunt_ohms, Defect::coil_ohms, Defect::crossed});
    for (int stop : stops_) {
      if (volts || (branch && stop == path_.last())) forms.push_back({ReadingKind::volts_on, stop});
      if (ohms) forms.push_back({ReadingKind::ohms, stop, Toward::valve});
      if (any({Defect::earth_ohms})) forms.push_back({ReadingKind::ohms, stop, Toward::controller});
      if (stop == 0 || !any({Defect::open})) continue;
      for (Conductor c : {Conductor::zone, Conductor::common})
        forms.push_back({ReadingKind::source_volts, stop, Toward::valve, c});
    }
    std::erase_if(forms, [&](const TestForm& form) { return is_taken(form); });
    return forms;
  }

  // One that does not fit may be taken once more.
  bool is_taken(const TestForm& form) const {
    int times = 0, odd = 0;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      if (!same_form(form, path_, readings_[i])) continue;
      ++times;
      odd += std::ranges::count(judgement_.odd, static_cast<int>(i)) > 0;
    }
    return times > 1 || (times == 1 && odd == 0);
  }

  void add_tests() {
    for (const TestForm& form : all_forms()) {
      const VisitTest test = visit_test(form);
      const VisitSet all = kept_.size() >= 64 ? ~VisitSet{0} : (VisitSet{1} << kept_.size()) - 1;
      const bool splits = test.first != 0 && test.first != all;
      if (splits && clear(form)) {
        problem_.tests.push_back(test);
        forms_.push_back(form);
      }
      if (splits && !clear(form) && form.stop > 0 && !wanted_) wanted_ = form;
      if (form.stop == 0) at_controller_.push_back(form);
    }
    for (const TestForm& form : at_controller_)
      if (wanted_ && form.kind == wanted_->kind && form.toward == wanted_->toward) reference_ = form;
  }

  VisitTest visit_test(const TestForm& form) const {
    const VisitConfig& visit = config_.visit;
    VisitTest test;
    test.stop = number_of(form.stop);
    test.minutes = form.kind == ReadingKind::volts_on ? visit.volts_minutes
                   : form.kind == ReadingKind::ohms   ? visit.ohms_minutes
                                                      : visit.source_minutes;
    if (form.kind == ReadingKind::source_volts) test.setup = setup_of(form.conductor);
    for (std::size_t i = 0; i < kept_.size(); ++i)
      if (is_before(form, kept(i))) test.first |= VisitSet{1} << i;
    return test;
  }

  // ---- what they would show
  std::pair<Band, Band> bands(const TestForm& form) const {
    std::vector<Suspect> suspects;
    for (std::size_t i = 0; i < kept_.size(); ++i) suspects.push_back(kept(i));
    return bands_of(form, suspects, ladder_, draw_ratio(finding_), judgement_);
  }
  bool clear(const TestForm& form) const {
    const auto [before, beyond] = bands(form);
    return before.apart_from(beyond);
  }

  NextReading next_of(const TestForm& form, double minutes) const {
    NextReading next;
    next.kind = form.kind;
    next.zone = path_.zone;
    next.at = path_.stop(form.stop).name;
    next.toward = form.toward;
    next.conductor = form.conductor;
    next.minutes = std::max(1, static_cast<int>(std::ceil(minutes - 1e-9)));
    const auto [before, beyond] = bands(form);
    if (beyond.any()) next.expect.push_back({false, beyond.low, beyond.high});
    if (before.any() && (!beyond.any() || clear(form)))
      next.expect.push_back({true, before.low, before.high});
    next.caution = reading_caution(finding_.fault, form.kind, form.stop == 0);
    return next;
  }

  const Config& config_;
  const Finding& finding_;
  const WirePath& path_;
  const Ladder& ladder_;
  const std::span<const Suspect> suspects_;
  const Judgement& judgement_;
  const std::span<const TestReading> readings_;
  std::vector<int> kept_;        // positions in suspects_
  std::vector<double> chance_;   // beside kept_
  bool together_ = false;        // places stand for their neighbours
  std::vector<int> stops_;       // that the plan knows, ascending
  std::vector<TestForm> forms_;  // beside problem_.tests
  std::vector<TestForm> at_controller_;
  // The first that says nothing by itself, and the same at the controller.
  std::optional<TestForm> wanted_, reference_;
  bool held_ = false;  // the reading at the controller is thought to have been taken
  VisitProblem problem_;
};

}  // namespace

TestChoice choose_test(const Config& config, const Finding& finding, const WirePath& path,
                       const Ladder& ladder, std::span<const Suspect> suspects, const Judgement& judgement,
                       std::span<const TestReading> readings) {
  return TestChooser(config, finding, path, ladder, suspects, judgement, readings).choose();
}

}  // namespace coilward
