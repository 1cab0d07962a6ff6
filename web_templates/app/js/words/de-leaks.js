// Deutsch: was die Lecktafel anweist, nach dem Namen ihrer Regel; englisch steht es in der Tafel selbst.

export const leaks = {
  "leak-rule.fuel": "Nicht anlassen, nicht laufen lassen: Kein Kraftstoffleck irgendeiner Klasse ist erlaubt. Keine Flamme, keine Funken, Batterie abklemmen, Kraftstoffhahn zu, auffangen, was tropft, Feuerlöscher bereit. Nur von Hand oder im Schlepp bewegen.",
  "leak-rule.brake-fluid": "Nicht fahren: Eine hydraulische Bremse, die leckt, kann beim nächsten Tritt versagen. Unterkeilen. Nur an fester Stange hinter einem Fahrzeug bewegen, das beide bremsen kann.",
  "leak-rule.brake-air": "Richten, bevor es auf eine Straße oder unter Leute kommt. Beim Füllen und Abfallen auf die Anzeige sehen und unter dem Warndruck nicht bewegen.",
  "leak-rule.seep": "Es darf laufen. Trocken wischen, damit der nächste Blick Neues zeigt, und öfter nach dem Stand sehen.",
  "leak-rule.seep-level": "Nach dem Stand sehen und bis zwischen die Marken auffüllen, bevor es läuft; danach öfter nachsehen. Schwitzen leert nichts: herausfinden, wo der Rest blieb.",
  "leak-rule.hanging-drops": "Es darf laufen, aber öfter nach dem Stand sehen. Die Reparatur einplanen.",
  "leak-rule.hanging-drops-level": "Nach dem Stand sehen und bis zwischen die Marken auffüllen, bevor es läuft; unter der Marke nicht laufen lassen. Bei jedem Halt wieder nachsehen. Die Reparatur einplanen.",
  "leak-rule.falling-before": "Der Leitung sagen. Es darf nur laufen, solange der Stand zwischen den Marken ist: bei jedem Halt nachsehen und sonst abstellen.",
  "leak-rule.falling-before-low": "Nicht laufen lassen: Der Stand ist niedrig oder wurde nicht nachgesehen. Der Leitung sagen.",
  "leak-rule.falling-during": "Es darf diese Fahrt beenden, solange nur Tropfen fallen und der Stand stimmt; danach steht es, bis die Leitung es gesehen hat.",
  "leak-rule.falling-during-low": "Jetzt abstellen, wo es sicher stehen kann: Der Stand ist zu niedrig, oder niemand kennt ihn.",
  "leak-rule.stream-during": "Jetzt abstellen, wo es sicher stehen kann: Es läuft im Strahl aus.",
  "leak-rule.falling-after": "Der Leitung sagen. Richten, bevor es am nächsten Vorführtag läuft; bis dahin vor jedem Anlassen nach dem Stand sehen.",
  "leak-rule.falling-after-low": "Nicht laufen lassen, bis es gerichtet ist: Tropfen fallen, und der Stand ist unter der Marke oder wurde nicht nachgesehen.",
  "leak-rule.stream": "Nicht laufen lassen, bis es gerichtet ist: Es läuft im Strahl aus. Auffangen und vom Abfluss fernhalten.",
  "never.fuel": "Kein Kraftstoffleck irgendeiner Klasse.",
  "never.brake-fluid": "Kein Leck an der Bremshydraulik, gleich welcher Klasse.",
};
