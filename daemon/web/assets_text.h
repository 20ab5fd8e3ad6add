// The files of daemon/web/page and of the chart library as text. Thread: any.
#pragma once

#include <string_view>

namespace coilward {

extern const std::string_view kStyleText, kSheetStyle, kLiveScript, kChartScript, kHandScript, kToldScript,
    kWorkerScript, kIconText, kManifestText;
extern const std::string_view kUplotScript, kUplotStyle, kUplotLicence;

}  // namespace coilward
