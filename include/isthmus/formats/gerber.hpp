// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string_view>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

// Reads a Gerber layer (RS-274X with X2 attributes).
//
// Shape   objects in drawing order, step-and-repeat and block apertures expanded.
// Units   Nanometres, y up, origin as in the file. Inch input rounds half away from zero: at most
//         0.5 nm a coordinate.
// Errors  GBR-0xx at file:line:column; the first fatal one ends the read; survivable oddities go
//         to `notes`. A missing M02 is an error (the file is cut short): GLF 4.13.
// Limits  4 million objects, 100 000 vertices an object, nesting 16: beyond, an error.
// Source  The Gerber Layer Format Specification, Ucamco, revision 2023.08.
//         Left out: docs/formats/gerber.md.
Result<LayerImage> read_gerber(std::string_view bytes, const std::string& file_name,
                               Diagnostics& notes);

// Writes an image as X2 Gerber (millimetres, 4.6): round strokes and circles as such, all else as
// regions; attributes kept. Reading it back gives the same shapes within 1 um.
std::string write_gerber(const LayerImage& image);

}  // namespace isthmus::formats
