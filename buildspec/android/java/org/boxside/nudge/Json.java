package org.boxside.nudge;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/**
 * JSON (RFC 8259) as maps, lists, strings, longs, doubles, booleans and null; strict, and small enough to read.
 *
 * <p>Own code rather than the platform's org.json, so that the same lines run in plain-Java checks.
 */
final class Json {
    private static final int DEEPEST = 32;
    private final String text;
    private int at;

    private Json(String text) {
        this.text = text;
    }

    /** Returns the value that a text stands for; IllegalArgumentException where it is no JSON. */
    static Object read(String text) {
        Json json = new Json(text);
        Object value = json.value(0);
        json.blank();
        if (json.at != text.length()) {
            throw json.bad("more than one value");
        }
        return value;
    }

    /** Returns a value of maps, lists, strings, numbers, booleans and null as text. */
    static String write(Object value) {
        StringBuilder out = new StringBuilder();
        write(value, out);
        return out.toString();
    }

    private static void write(Object value, StringBuilder out) {
        if (value instanceof Map) {
            String before = "{";
            for (Map.Entry<?, ?> one : ((Map<?, ?>) value).entrySet()) {
                quote(String.valueOf(one.getKey()), out.append(before));
                write(one.getValue(), out.append(':'));
                before = ",";
            }
            out.append("{".equals(before) ? "{}" : "}");
        } else if (value instanceof List) {
            String before = "[";
            for (Object one : (List<?>) value) {
                write(one, out.append(before));
                before = ",";
            }
            out.append("[".equals(before) ? "[]" : "]");
        } else if (value instanceof String) {
            quote((String) value, out);
        } else {
            out.append(value);
        }
    }

    private static void quote(String text, StringBuilder out) {
        out.append('"');
        for (int i = 0; i < text.length(); i++) {
            char c = text.charAt(i);
            if (c == '"' || c == '\\') {
                out.append('\\').append(c);
            } else if (c < ' ') {
                out.append(String.format(Locale.ROOT, "\\u%04x", (int) c));
            } else {
                out.append(c);
            }
        }
        out.append('"');
    }

    private Object value(int depth) {
        blank();
        if (at >= text.length() || depth > DEEPEST) {
            throw bad("unexpected end or too deep");
        }
        char c = text.charAt(at);
        switch (c) {
            case '{':
                return map(depth);
            case '[':
                return list(depth);
            case '"':
                return string();
            case 't':
                return word("true", Boolean.TRUE);
            case 'f':
                return word("false", Boolean.FALSE);
            case 'n':
                return word("null", null);
            default:
                return number();
        }
    }

    private Map<String, Object> map(int depth) {
        Map<String, Object> found = new LinkedHashMap<>();
        at++;
        if (next('}')) {
            return found;
        }
        do {
            blank();
            if (at >= text.length() || text.charAt(at) != '"') {
                throw bad("a name is missing");
            }
            String name = string();
            if (!next(':')) {
                throw bad("a colon is missing");
            }
            found.put(name, value(depth + 1));
        } while (next(','));
        if (!next('}')) {
            throw bad("a closing brace is missing");
        }
        return found;
    }

    private List<Object> list(int depth) {
        List<Object> found = new ArrayList<>();
        at++;
        if (next(']')) {
            return found;
        }
        do {
            found.add(value(depth + 1));
        } while (next(','));
        if (!next(']')) {
            throw bad("a closing bracket is missing");
        }
        return found;
    }

    private String string() {
        StringBuilder out = new StringBuilder();
        for (at++; at < text.length(); at++) {
            char c = text.charAt(at);
            if (c == '"') {
                at++;
                return out.toString();
            }
            if (c < ' ') {
                break;
            }
            out.append(c == '\\' ? escaped() : c);
        }
        throw bad("a string does not end");
    }

    private char escaped() {
        at++;
        int which = at < text.length() ? "\"\\/bfnrt".indexOf(text.charAt(at)) : -1;
        if (which >= 0) {
            return "\"\\/\b\f\n\r\t".charAt(which);
        }
        if (at + 4 < text.length() && text.charAt(at) == 'u') {
            at += 4;
            try {
                return (char) Integer.parseInt(text.substring(at - 3, at + 1), 16);
            } catch (NumberFormatException error) {
                throw bad("a bad escape");
            }
        }
        throw bad("a bad escape");
    }

    private Object number() {
        int start = at;
        while (at < text.length() && "+-.eE0123456789".indexOf(text.charAt(at)) >= 0) {
            at++;
        }
        String digits = text.substring(start, at);
        try {
            return digits.matches("-?\\d+") ? (Object) Long.valueOf(digits) : (Object) Double.valueOf(digits);
        } catch (NumberFormatException error) {
            throw bad("no number");
        }
    }

    private Object word(String word, Object value) {
        if (!text.startsWith(word, at)) {
            throw bad("an unknown word");
        }
        at += word.length();
        return value;
    }

    private boolean next(char wanted) {
        blank();
        boolean here = at < text.length() && text.charAt(at) == wanted;
        at += here ? 1 : 0;
        return here;
    }

    private void blank() {
        while (at < text.length() && " \t\r\n".indexOf(text.charAt(at)) >= 0) {
            at++;
        }
    }

    private IllegalArgumentException bad(String why) {
        return new IllegalArgumentException(why + " at sign " + at);
    }
}
