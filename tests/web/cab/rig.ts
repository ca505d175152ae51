// The demo rig of the design's job paper, 3.1.
import { rigOf } from "../core/made";

export const RIG = rigOf({
  kind: "towed",
  phone: { ahead_of_axle_m: 0.9, left_of_centre_m: 0.25 },
  axle_to_pin_m: 1.05,
  tool: { width_m: 8.4, pin_to_axle_m: 6.1, front_rank_m: 1.7, rear_rank_m: -0.7 },
  times: { lower_s: 1.8, raise_s: 0.6, meter_s: 0.9, fill_s: 5, drain_s: 4.6 },
});
