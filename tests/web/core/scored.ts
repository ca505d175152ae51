// The scores as the phone reads them, as one line of JSON.
import * as scores from "../../../web/src/core/scores";

process.stdout.write(JSON.stringify(scores));
