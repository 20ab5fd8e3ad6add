#include <gmock/gmock.h>

#include "daemon/alerts/sparkline.h"

namespace coilward {
namespace {

using testing::HasSubstr;

TEST(Sparkline, IsADrawingThatSaysWhatItShows) {
  const AlertDraw draw{4, {0.23, 0.12, 0.0}, 0.21, 0.25};
  EXPECT_EQ(sparkline_text(draw), "▇▄▁");
  const std::string svg = sparkline_svg(draw, "Zone 4 <b> & more");
  EXPECT_THAT(svg, HasSubstr("<title>Zone 4 &lt;b&gt; &amp; more</title>"));
  EXPECT_THAT(svg, HasSubstr("points=\"5.0,8.7 120.0,28.9 235.0,51.0\""));
  EXPECT_EQ(sparkline_svg({4, {}, kNotMeasured, kNotMeasured}, "").find("nan"), std::string::npos);
}

}  // namespace
}  // namespace coilward
