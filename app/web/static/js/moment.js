// A moment of the last days as people say it: "Tuesday 14:10".

export function when(at) {
  const how = { weekday: "long", hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  const parts = new Intl.DateTimeFormat(document.documentElement.lang, how).formatToParts(at);
  const { weekday, hour, minute } = Object.fromEntries(parts.map((part) => [part.type, part.value]));
  return `${weekday} ${hour}:${minute}`;
}
