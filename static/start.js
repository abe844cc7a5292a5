// What the page runs first.

import { edition as ofCalc } from "/calc.js";
import { edition, m_main } from "/page.js";

m_main.start([edition, ofCalc]);
