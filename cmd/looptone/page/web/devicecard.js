"use strict";

// DeviceCard is a device on the wires: a button that opens it.
class DeviceCard {
  constructor(device) {
    this.device = device;
    this.item = html("li", "");
    this.button = html("button", "device");
    this.button.type = "button";
    this.tag = html("span", "tag", device.tag);
    this.polling = html("span", "polling");
    this.mark = html("i", "mark");
    this.current = html("span", "current");
    this.mode = html("span", "mode");
    this.volts = html("span", "volts");
    this.needle = html("i", "needle");
    const scale = html("span", "scale");
    scale.append(this.needle);
    const amount = html("span", "amount");
    amount.append(this.mark, this.current, this.mode);
    const head = html("span", "head");
    head.append(this.tag, this.polling);
    const foot = html("span", "level");
    foot.append(scale, this.volts);
    this.spoken = html("span", "unseen"); // the name of the button: all of it in words
    for (const part of [head, amount, foot]) part.setAttribute("aria-hidden", "true");
    this.button.append(this.spoken, head, amount, foot);
    this.item.append(this.button);
  }

  // show shows the values of the device now; known: voltages are reckoned.
  show(value, known) {
    const ma = value.dark ? 0 : value.ma;
    renewText(this.polling, String(value.polling));
    renewText(this.current, value.dark ? "dark" : `${numberText(ma, 2)} mA`);
    const across = known && value.v !== null ? `${numberText(value.v, 1)} V` : "";
    renewText(this.mode, value.dark ? across : value.mode);
    renewText(this.volts, value.dark ? "" : across);
    this.mark.className = `mark ${value.dark ? "none" : value.mode}`;
    this.button.dataset.mode = value.dark ? "dark" : value.mode;
    const along = Math.min(Math.max(((ma ?? 4) - 4) / 16, -0.05), 1.05);
    this.needle.style.left = `${(100 * along).toFixed(1)}%`;
    const now = value.dark ? `dark: ${value.dark}` : `${numberText(ma, 2)} mA, ${value.mode}`;
    const volts = known && value.v !== null ? `, ${numberText(value.v, 1)} volts across it` : "";
    const burst = value.bursting ? ", in burst mode" : "";
    const label = `${this.device.tag}, polling address ${value.polling}, ${now}${volts}${burst}`;
    if (label !== this.label) {
      this.label = label;
      this.spoken.textContent = this.button.title = label;
    }
  }
}
