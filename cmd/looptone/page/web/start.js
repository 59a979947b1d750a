"use strict";

// Last of all: everybody has found his place, so the line may begin to tell.
store.connect();
