package web

import (
	"encoding/json"
	"reflect"
	"regexp"
	"strings"
	"time"

	"dustwright/collector"
)

// openAPI describes the API out of the table of routes and the types that go in and out, so that it can't
// say anything else than the code does.
func openAPI(list []route) map[string]any {
	paths := map[string]any{}
	for _, rt := range list {
		item, _ := paths[rt.path].(map[string]any)
		if item == nil {
			item = map[string]any{}
			paths[rt.path] = item
		}
		item[strings.ToLower(rt.method)] = operation(rt)
	}
	return map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{"title": "Dustwright", "version": "1",
			"description": "Collectors, judgements, readings and records of one plant. Values are SI. Errors are {\"error\": a sentence}."},
		"paths": paths,
	}
}

var inPath = regexp.MustCompile(`\{(\w+)\}`)

// operation describes one row of the table.
func operation(rt route) map[string]any {
	params := []any{}
	for _, m := range inPath.FindAllStringSubmatch(rt.path, -1) {
		params = append(params, map[string]any{"name": m[1], "in": "path", "required": true, "schema": map[string]any{"type": "string"}})
	}
	for _, name := range rt.api.query {
		params = append(params, map[string]any{"name": name, "in": "query", "schema": map[string]any{"type": "string"}})
	}
	op := map[string]any{"summary": rt.says, "parameters": params, "responses": map[string]any{
		"200":     map[string]any{"description": "done", "content": content("application/json", schemaOf(reflect.TypeOf(rt.api.out)))},
		"default": map[string]any{"description": "a sentence that says what is wrong", "content": content("application/json", map[string]any{"type": "object", "properties": map[string]any{"error": map[string]any{"type": "string"}}})},
	}}
	switch in := rt.api.in.(type) {
	case nil:
	case string:
		op["requestBody"] = map[string]any{"required": true, "content": content(in, map[string]any{"type": "string"})}
	default:
		op["requestBody"] = map[string]any{"required": true, "content": content("application/json", schemaOf(reflect.TypeOf(in)))}
	}
	return op
}

func content(kind string, schema map[string]any) map[string]any {
	return map[string]any{kind: map[string]any{"schema": schema}}
}

// schemaOf describes a type as JSON writes it.
func schemaOf(t reflect.Type) map[string]any {
	switch t {
	case reflect.TypeFor[time.Time]():
		return map[string]any{"type": "string", "format": "date-time"}
	case reflect.TypeFor[collector.Text]():
		return map[string]any{"type": "string"}
	case reflect.TypeFor[json.RawMessage]():
		return map[string]any{}
	}
	if t.Implements(reflect.TypeFor[json.Marshaler]()) {
		return map[string]any{"type": []string{"string", "number", "null"}}
	}
	switch t.Kind() {
	case reflect.Pointer:
		inner := schemaOf(t.Elem())
		return map[string]any{"anyOf": []any{inner, map[string]any{"type": "null"}}}
	case reflect.Slice, reflect.Array:
		return map[string]any{"type": []string{"array", "null"}, "items": schemaOf(t.Elem())}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": schemaOf(t.Elem())}
	case reflect.Struct:
		return structSchema(t)
	case reflect.String:
		return map[string]any{"type": "string"}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Float32, reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.Interface:
		return map[string]any{}
	}
	return map[string]any{"type": "integer"}
}

func structSchema(t reflect.Type) map[string]any {
	props, required := map[string]any{}, []string{}
	for i := range t.NumField() {
		f := t.Field(i)
		name, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" || !f.IsExported() {
			continue
		}
		if name == "" {
			name = f.Name
		}
		props[name] = schemaOf(f.Type)
		if !strings.Contains(opts, "omit") {
			required = append(required, name)
		}
	}
	return map[string]any{"type": "object", "properties": props, "required": required}
}
