// What the page does beyond plain forms: send without reloading, follow the bench, take keys.

import { keepFresh } from "./again.js";
import { useAsks } from "./asks.js";
import { stayAwake } from "./awake.js";
import { follow } from "./live.js";
import { useKeys } from "./pad.js";
import { startQueue } from "./queue.js";
import { watchTyping } from "./scale.js";
import { keepSeats } from "./seat.js";
import { useForms } from "./send.js";
import { useTaps } from "./taps.js";
import { useWipe } from "./wipe.js";

document.documentElement.dataset.js = "on";
useWipe();
keepSeats();
// Before the focus is put anywhere: a number that stands in the field is taken in hand.
useKeys();
useForms();
useAsks();
useTaps();
watchTyping();
startQueue();
follow();
stayAwake();
keepFresh();
