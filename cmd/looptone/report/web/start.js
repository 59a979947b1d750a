"use strict";

// The views of the page, one of each.
{
  const traffic = new Traffic(JSON.parse(document.getElementById("data").textContent));
  const period = new Period(traffic);
  const opened = new Opened(traffic, period);
  const picture = new Picture(traffic, period, opened);
  opened.on(() => picture.ask());
  new Listing(traffic, period, opened);
  new Curves(traffic, document.getElementById("curves"));
  new Delays(traffic, document.getElementById("delays"));
  new Damages(traffic, document.getElementById("damages"), opened);
  new Statuses(traffic, document.getElementById("bits"));
}
