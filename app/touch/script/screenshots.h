// app/touch/script/screenshots.h: every screen at five sizes in both themes, each checked for words cut
// off or over one another, words too faint in daylight and areas too small for a finger.
#pragma once

#include <string>
#include <vector>

namespace app {

// Writes PNG files into the folder and prints what is wrong. 0 = nothing is.
// `size` as "412x915" takes that one alone.
int take_screenshots(const std::string& folder, const std::string& language = "en",
                     float text_scale = 1, const std::string& size = {});
// The same without files, for the tests: one line a fault, with its screen. `sizes` as "360x640".
std::vector<std::string> faults_on_screens(const std::string& png_folder,
                                           const std::vector<std::string>& sizes,
                                           const std::string& language = "en",
                                           float text_scale = 1);

// The pictures of README: skyline.png, light.png, and the report they were taken beside. 0 = done.
int take_pictures(const std::string& folder);

}  // namespace app
