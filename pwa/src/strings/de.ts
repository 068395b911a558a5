import type { Catalogue } from "./catalogue";
import { english } from "./en";
export const german: Catalogue = english;
